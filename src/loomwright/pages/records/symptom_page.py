"""What does the page of a symptom say: where to put a hand first, what to look at, what to read?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from loomwright.handover.symptom_causes import Cause, Symptom
from loomwright.pages.addresses import job_path
from loomwright.pages.answer_bench import AnswerStanding

__all__ = ["CauseLine", "LookLine", "SymptomPage", "symptom_page"]

_SHORT, _SHORT_FRAC = 7, 0.8
_FAULTS, _ALSO, _NEXT = 5, 8, 3
_PERCENT = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseLine:
    """A place. percent: printed.   share: of the bar. [-]   faults, why, also: in words.   more: left out. [-]"""

    percent: str
    share: float
    says: str
    where: str
    faults: str
    more: int
    why: str
    also: str
    things: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LookLine:
    """Another part to look at. works, dead: where the answer leads.   left_works, left_dead: of the odds, printed."""

    part: str
    name: str
    works: str
    dead: str
    left_works: str
    left_dead: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SymptomPage:
    """The page. dead, works, state: as asked, for the fields.   when: the state that was taken.   amps: printed.

    short: the likely places; rest: those after them, rest_percent: their share.   hand_on: the fault finder's address.
    """

    dead: str
    works: str
    state: str
    parts: tuple[str, ...]
    here: str
    told: str
    waiting: bool
    stopped: bool
    refused: str
    done: int
    of: int
    stop: str
    again: str
    answered: bool
    when: str
    amps: str
    wire: str
    faults: int
    tried: int
    places: int
    short: tuple[CauseLine, ...]
    rest: tuple[CauseLine, ...]
    rest_percent: str
    looks: tuple[LookLine, ...]
    next: tuple[str, ...]
    has_fuse: bool
    hand_on: str


def symptom_page(
    job: str,
    *,
    dead: Sequence[str],
    works: Sequence[str],
    state: str,
    parts: Sequence[str],
    standing: AnswerStanding[object] | None = None,
    found: Symptom | None = None,
    told: str = "",
) -> SymptomPage:
    """The page.

    Args:
        job: its name.
        dead, works, state: as asked.
        parts: that may do nothing.
        standing: how far the faults are; None where nothing is asked yet.
        found: the answer.
        told: why what was asked cannot be meant.
    """
    here = job_path(job, "symptom")
    asked = urlencode({"dead": " ".join(dead), "works": " ".join(works), "state": state})
    causes = () if found is None else found.causes
    count = _count(causes)
    return SymptomPage(
        dead=" ".join(dead),
        works=" ".join(works),
        state=state,
        parts=tuple(parts),
        here=here,
        told=told,
        waiting=standing is not None
        and found is None
        and not standing.stopped
        and standing.refused is None
        and not told,
        stopped=standing is not None and standing.stopped,
        refused="" if standing is None else str(standing.refused or ""),
        done=0 if standing is None else standing.done,
        of=0 if standing is None else standing.of,
        stop=f"{here}/stop?{asked}",
        again=f"{here}/again?{asked}",
        answered=found is not None,
        when="" if found is None else found.when or "everything at rest",
        amps="" if found is None else f"{found.amps:.1f} A",
        wire="" if found is None else found.dead[0],
        faults=0 if found is None else found.faults,
        tried=0 if found is None else found.tried,
        places=len(causes),
        short=tuple(_cause(one) for one in causes[:count]),
        rest=tuple(_cause(one) for one in causes[count:]),
        rest_percent=f"{_PERCENT * sum(one.odds for one in causes[count:]):.0f} %",
        looks=() if found is None else tuple(_looks(here, dead, works, state, found)),
        next=() if found is None else tuple(one.says for one in found.next[:_NEXT]),
        has_fuse=any(one.sort == "fuse" for one in causes[:count]),
        hand_on=job_path(job, "handover", "causes"),
    )


def _count(causes: Sequence[Cause]) -> int:
    share = 0.0
    for number, one in enumerate(causes, start=1):
        share += one.odds
        if share >= _SHORT_FRAC or number == _SHORT:
            return number
    return len(causes)


def _cause(one: Cause) -> CauseLine:
    rest = f" and {len(one.also) - _ALSO} more" if len(one.also) > _ALSO else ""
    return CauseLine(
        percent=f"{_PERCENT * one.odds:.0f} %" if one.odds >= 0.005 else "< 1 %",
        share=round(_PERCENT * one.odds, 2),
        says=one.says[:1].upper() + one.says[1:],
        where=one.where,
        faults="; ".join(one.faults[:_FAULTS]),
        more=max(0, len(one.faults) - _FAULTS),
        why=", ".join(one.why),
        also=", ".join(one.also[:_ALSO]) + rest,
        things=(one.at,),
    )


def _looks(here: str, dead: Sequence[str], works: Sequence[str], state: str, found: Symptom) -> list[LookLine]:
    lines = []
    for one in found.looks:
        yes = urlencode({"dead": " ".join(dead), "works": " ".join((*works, one.part)), "state": state or found.when})
        no = urlencode({"dead": " ".join((*dead, one.part)), "works": " ".join(works), "state": state or found.when})
        lines.append(
            LookLine(
                part=one.part,
                name=one.name,
                works=f"{here}?{yes}",
                dead=f"{here}?{no}",
                left_works=f"{_PERCENT * one.works:.0f} %",
                left_dead=f"{_PERCENT * one.dead:.0f} %",
            )
        )
    return lines
