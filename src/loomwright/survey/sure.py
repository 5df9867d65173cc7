"""How sure is it, in words; and what becomes of the wire?

Never certain. *Proved live* is said only where the best function's own control was worked and the wire followed, both
ways, or where what it should light did so: a live proof. A wire is called, sure enough for the plan, from `called_frac`
with a lead of `margin_frac` over the next and a live proof.
"""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.job.rows import OldWire
from loomwright.survey.cautions import CLOSED
from loomwright.survey.doubts import shown_word
from loomwright.survey.records import Caution, Evidence, Fate, Guess
from loomwright.tables.old_wires import WireFunction, survey_figure

__all__ = ["fate_of", "is_called", "is_live_proved", "sure_words"]

_NOTHING = ("floating", "earthed")
_STEPS = ((0.99, "all but sure"), (0.95, "very likely"), (0.8, "likely"), (0.5, "more likely than not"))


def is_live_proved(function: WireFunction, evidence: Sequence[Evidence], *, is_fed: bool = False) -> bool:
    """Whether something was worked and the wire did what this function should, both ways.

    Args:
        function: the one in question.
        evidence: the readings of the wire.
        is_fed: its load stub was fed through a lamp, and what hangs on it lit or moved.
    """
    if is_fed:
        return True
    if function.seen not in ("", "nothing") and any(e.measure == "seen" and e.value == function.seen for e in evidence):
        return True
    if function.lamp == "earthed":
        return any(e.measure == "lamp_plus" and e.value == "full" for e in evidence)
    volts = [e for e in evidence if e.measure in ("volts", "lamp") and e.look in function.shows]
    fits = [e for e in volts if _fits(function, e)]
    worked = [e for e in fits if e.look == function.control and function.shows[e.look] not in _NOTHING]
    if function.control:
        return bool(worked) and any(function.shows[e.look] in _NOTHING for e in fits)
    return any(e.measure == "lamp" and e.value == "full" for e in fits)


def is_called(guesses: Sequence[Guess], is_proved: bool) -> bool:
    """Whether a wire is sure enough for the plan.

    Args:
        guesses: likeliest first.
        is_proved: there is a live proof.
    """
    lead = guesses[0].odds_frac - (guesses[1].odds_frac if len(guesses) > 1 else 0.0)
    return is_proved and guesses[0].odds_frac > survey_figure("called_frac") and lead > survey_figure("margin_frac")


def sure_words(guesses: Sequence[Guess], readings: int, is_proved: bool) -> str:
    """How sure, in words.

    Args:
        guesses: likeliest first.
        readings: how many were weighed. [-]
        is_proved: there is a live proof.
    Example:
        >>> sure_words((Guess(function="earth", words="earth", odds_frac=0.97),), 2, False)
        'very likely, not proved live'
    """
    best = guesses[0].odds_frac
    word = next((word for least, word in _STEPS if best >= least), "open")
    if not readings:
        return f"{word}, by colour and place alone"
    if word == "open":
        running = sum(each.odds_frac >= best / 3.0 for each in guesses)
        return f"open, {running} in the running"
    if not is_proved:
        return f"{word}, not proved live"
    return f"{word}, proved live" if best > survey_figure("called_frac") else f"{word}, it followed its control"


def fate_of(wire: OldWire, function: WireFunction, is_sure: bool, cautions: Sequence[Caution]) -> Fate:
    """What becomes of a wire, and why; what a person typed stands beside it.

    Args:
        wire: its row.
        function: the likeliest.
        is_sure: it is called.
        cautions: what it calls for.
    """
    closed = next((caution for caution in cautions if caution.key in CLOSED), None)
    if closed:
        return Fate(fate="leave", reason=f"left alone: {closed.says}", typed=wire.fate)
    if not is_sure:
        reason = "not sure enough for the plan: number it, cap it, cut nothing"
        return Fate(fate="leave", reason=reason, typed=wire.fate)
    return Fate(fate=function.fate, reason=function.reason, typed=wire.fate)


def _fits(function: WireFunction, evidence: Evidence) -> bool:
    word, shows = shown_word(evidence), function.shows[evidence.look]
    if evidence.measure == "lamp":
        return (word in ("full", "dim")) == (shows not in _NOTHING)
    return word == shows or (word == "floating" and shows in _NOTHING) or (word == "live" and shows == "pulsing")
