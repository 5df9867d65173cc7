"""What does the page of fewest changes say: the curve, what each set costs, which may be kept?"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.gearbox.fewest import Traded, TradeOff
from loomwright.gearbox.judged import run_words
from loomwright.pages.addresses import job_path
from loomwright.pages.answer_bench import AnswerStanding

__all__ = ["FewestPage", "TradeLine", "fewest_page"]

_PERCENT = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TradeLine:
    """One set of lines, printed. place: on the curve; -1 for the lines of now. [-]   fuel_more: against now.

    bar: its changes a kilometre against the most of the curve, for a ruled bar. [-]
    """

    place: int
    changes: str
    undone: str
    fuel: str
    fuel_more: str
    pull: str
    hunts: str
    bar: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FewestPage:
    """The page. waiting, stopped, refused, done, of: how far it is. [-]"""

    programme: str
    cycle: str
    now: TradeLine | None
    curve: tuple[TradeLine, ...]
    says: str
    can_keep: bool
    keep: str
    back: str
    waiting: bool
    stopped: bool
    refused: str
    done: int
    of: int
    stop: str
    again: str


def fewest_page(job: str, programme: str, standing: AnswerStanding[TradeOff], *, is_shown_only: bool) -> FewestPage:
    """The page.

    Args:
        job: its name.
        is_shown_only: the made-up gearbox stands in, so that nothing can be kept.
    """
    here, answer = job_path(job, "gears"), standing.answer
    most = max((one.changes_per_km for one in (answer.now, *answer.curve)), default=1.0) if answer else 1.0
    return FewestPage(
        programme=programme,
        cycle=run_words(answer.cycle) if answer else "",
        now=_line(answer.now, -1, answer.now, most) if answer else None,
        curve=tuple(_line(one, place, answer.now, most) for place, one in enumerate(answer.curve)) if answer else (),
        says=_says(answer) if answer else "",
        can_keep=not is_shown_only,
        keep=f"{here}/fewest/keep",
        back=f"{here}?programme={programme}",
        waiting=answer is None and not standing.stopped and standing.refused is None,
        stopped=standing.stopped,
        refused=str(standing.refused or ""),
        done=standing.done,
        of=standing.of,
        stop=f"{here}/fewest/stop?programme={programme}",
        again=f"{here}/fewest/again?programme={programme}",
    )


def _line(one: Traded, place: int, now: Traded, most: float) -> TradeLine:
    return TradeLine(
        place=place,
        changes=f"{one.changes_per_km:.2f}",
        undone=str(one.undone),
        fuel=f"{one.fuel_g_per_km:.1f}",
        fuel_more=f"{_PERCENT * (one.fuel_g_per_km / now.fuel_g_per_km - 1.0):+.1f} %",
        pull=f"{one.pull_ms2:.2f}",
        hunts=f"{_PERCENT * one.hunts_frac:.0f} %",
        bar=f"{_PERCENT * one.changes_per_km / most:.0f}" if most > 0.0 else "0",
    )


def _says(answer: TradeOff) -> str:
    told = (
        f"{answer.tried} sets of lines were driven, {answer.fit} of them break no rule and leave as much pull in hand"
    )
    if not answer.curve:
        return f"{told}: none. Ask for less pull, or mend the gearbox's figures."
    level = [one for one in answer.curve if one.fuel_g_per_km <= answer.now.fuel_g_per_km]
    if not level:
        return f"{told}. None takes as little fuel as the lines of now."
    best = level[0]
    return (
        f"{told}. For no more fuel than now {best.changes_per_km:.2f} changes a kilometre would do,"
        f" against {answer.now.changes_per_km:.2f}."
    )
