"""What is each old wire, how sure, what is read next, what becomes of it? Everything of the survey in one record."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

import numpy as np

from loomwright.job.job import Job
from loomwright.survey.cautions import CLOSED, NO_LAMP, cautions_of
from loomwright.survey.doubts import doubts
from loomwright.survey.evidence import FIRST_ROW, fed_loads
from loomwright.survey.next_reading import Trouble, best_of_each, fast_next, full_next, live_proof
from loomwright.survey.records import Caution, Evidence, Guess, NextReading, OldWireSaid, Survey
from loomwright.survey.said_states import said_by, said_in
from loomwright.survey.sure import fate_of, is_called, is_live_proved, sure_words
from loomwright.survey.weighing import Weighed, weighed
from loomwright.tables.old_wires import survey_figure

__all__ = ["survey_of"]

Tell = Callable[[int, int], None]

_MOST_GUESSES = 3
_LEAST_ODDS = 0.005


def survey_of(
    job: Job,
    *,
    is_full: bool = True,
    most: int = 5,
    aside: frozenset[tuple[str, str]] = frozenset(),
    tell: Tell | None = None,
) -> Survey:
    """What the readings of a job say of its old wires.

    Args:
        job: its sheets `old_wires`, `readings`, `vehicle`; functions of its own in a sheet `old_wire_functions`.
        is_full: readings to take next are weighed by what they tell of all wires together, else of their own alone.
        most: at most so many of those. [-]
        aside: wires and looks that cannot be had where somebody stands; they are not proposed.
        tell: called with readings tried and to try; may raise Stopped.
    Example:
        >>> from loomwright.job.rows import OldWire
        >>> survey_of(Job(old_wires=(OldWire(id="7", colour="BK"),))).wires[0].how_sure
        'open, by colour and place alone'
    """
    known = weighed(job)
    odds = [
        {function.key: float(each) for function, each in zip(known.functions, row, strict=True)} for row in known.odds
    ]
    cautions = [cautions_of(wire, each) for wire, each in zip(known.wires, odds, strict=True)]
    fed = fed_loads(job)
    firm = _sure_enough(known, fed)
    trouble = _trouble(job, known, cautions, firm, aside)
    proofs = _proofs(known, trouble, fed)
    changing = [
        proofs.get(wire.id) or each for each, wire in zip(best_of_each(known, trouble), known.wires, strict=True)
    ]
    said = said_in(job)
    changing = [each and said_by(each, said) for each in changing]
    following: tuple[NextReading, ...] = ()
    if known.wires:
        following = full_next(known, trouble, most, tell) if is_full else fast_next(known, trouble, most)
        asked = {each.wire for each in following}
        following = (*following, *(each for each in proofs.values() if each.wire not in asked))[:most]
    following = tuple(said_by(each, said) for each in following)
    wires = tuple(
        _said(known, row, cautions[row], changing[row], known.wires[row].id in fed) for row in range(len(known.wires))
    )
    return Survey(
        wires=wires,
        odds=MappingProxyType({wire.id: MappingProxyType(each) for wire, each in zip(known.wires, odds, strict=True)}),
        queries=(*known.queries, *doubts(known)),
        following=following,
        is_exact=known.is_exact,
        conventions=MappingProxyType(known.conventions),
        functions=known.functions,
    )


def _said(
    known: Weighed, row: int, cautions: tuple[Caution, ...], change: NextReading | None, is_fed: bool
) -> OldWireSaid:
    wire, evidence = known.wires[row], known.evidence[row]
    guesses = _guesses(known, row)
    best = next(function for function in known.functions if function.key == guesses[0].function)
    is_proved = is_live_proved(best, evidence, is_fed=is_fed)
    is_sure = is_called(guesses, is_proved)
    return OldWireSaid(
        id=wire.id,
        colour=wire.colour,
        place=wire.where,
        stub=known.stubs[row] if wire.stub else "",
        guesses=guesses,
        how_sure=sure_words(guesses, len(evidence), is_proved),
        is_called=is_sure,
        is_live_proved=is_proved,
        readings=len(evidence),
        cautions=cautions,
        fate=fate_of(wire, best, is_sure, cautions),
        change_mind=change,
    )


def _proofs(known: Weighed, trouble: Trouble, fed: frozenset[str]) -> Mapping[str, NextReading]:
    """What proves those wires live that are as good as known but for that."""
    found = {}
    for row, wire in enumerate(known.wires):
        guesses = _guesses(known, row)
        best = next(function for function in known.functions if function.key == guesses[0].function)
        is_proved = is_live_proved(best, known.evidence[row], is_fed=wire.id in fed)
        proof = live_proof(known, trouble, row) if not is_proved and is_called(guesses, is_proved=True) else None
        if proof is not None:
            found[wire.id] = proof
    return found


def _guesses(known: Weighed, row: int) -> tuple[Guess, ...]:
    order = np.argsort(-known.odds[row], kind="stable")
    found = [
        Guess(
            function=known.functions[place].key,
            words=known.functions[place].words,
            odds_frac=float(known.odds[row, place]),
        )
        for place in order
    ]
    return (found[0], *(each for each in found[1:_MOST_GUESSES] if each.odds_frac >= _LEAST_ODDS))


def _sure_enough(known: Weighed, fed: frozenset[str]) -> frozenset[str]:
    """The wires that are called already: nothing more is asked of them."""
    found = set()
    for row, wire in enumerate(known.wires):
        guesses = _guesses(known, row)
        best = next(function for function in known.functions if function.key == guesses[0].function)
        if is_called(guesses, is_live_proved(best, known.evidence[row], is_fed=wire.id in fed)):
            found.add(wire.id)
    return frozenset(found)


def _trouble(
    job: Job,
    known: Weighed,
    cautions: list[tuple[Caution, ...]],
    firm: frozenset[str],
    aside: frozenset[tuple[str, str]],
) -> Trouble:
    keys = {wire.id: {each.key for each in some} for wire, some in zip(known.wires, cautions, strict=True)}
    where = {wire.id: wire.where for wire in known.wires}
    last = next((row.old_wire for row in reversed(job.readings) if row.old_wire in where), "")
    doubted = {query.row for query in doubts(known)}
    done = {
        (each.wire, look)
        for evidence in known.evidence
        for each in evidence
        if each.row not in doubted and each.row >= FIRST_ROW
        for look in _looks_taken(each)
    }
    return Trouble(
        place=where.get(last, ""),
        walk_minutes=survey_figure("walk_minutes"),
        done=frozenset(done) | aside,
        no_lamp=frozenset(wire for wire, some in keys.items() if some & NO_LAMP),
        closed=firm | {wire for wire, some in keys.items() if some & CLOSED},
    )


def _looks_taken(evidence: Evidence) -> tuple[str, ...]:
    if evidence.measure in ("lamp", "lamp_plus"):
        return ("lamp",) if evidence.look == "run" else ("lamp", evidence.look)
    return (evidence.measure,) if evidence.measure in ("seen", "ohms") else (evidence.look,)
