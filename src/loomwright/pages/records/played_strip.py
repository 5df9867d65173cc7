"""Which steps does a page show of a way that the car goes: what is done, what pulls, drops, holds, stays on?

A way is played by its word (`play=off`); the state before of an address and its state are a way, too, so that what a
finding tells of can be stepped through. `to=` keeps where one came from when the step before is looked at.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from loomwright.car import Car
from loomwright.handover.played import PlayedStep, Way, play, ways_of
from loomwright.pages.addresses import JobLinks, job_path, state_text
from loomwright.pages.records.state_asked import StateAsked
from loomwright.refusals import OutOfReach

__all__ = ["PlayedFact", "PlayedLine", "PlayedStrip", "WayOffered", "played_strip"]


@dataclass(frozen=True, slots=True, kw_only=True)
class WayOffered:
    """A way that can be played. href: its first step."""

    says: str
    href: str
    is_here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedFact:
    """What happens to some parts in a step. energised: told in copper."""

    word: str
    parts: tuple[str, ...]
    energised: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedLine:
    """One step. number: counted from 1. [-]   href: the car set so; empty where it cannot occur."""

    number: int
    says: str
    href: str
    is_here: bool
    occurs: bool
    facts: tuple[PlayedFact, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedStrip:
    """The strip. says: what is played; empty where nothing is.   back, on: the steps beside the one that is set."""

    ways: tuple[WayOffered, ...]
    says: str
    lines: tuple[PlayedLine, ...]
    back: str
    on: str
    end: str


def played_strip(
    car: Car, asked: StateAsked, links: JobLinks, *, word: str = "", to: Mapping[str, str] | None = None
) -> PlayedStrip:
    """The strip of the page on which the car is set.

    Args:
        word: of the way that is played.
        to: the state that the one asked about goes on to; None where it is not asked.
    Raises:
        OutOfReach: a way that the car does not have.
    """
    ways = ways_of(car.variables)
    rests = {variable.name: variable.rest for variable in car.variables}
    chosen = next((way for way in ways if way.word == word), None)
    if word and chosen is None:
        raise OutOfReach("play", word, " ".join(way.word for way in ways) or "none: the car has no key")
    way = _PlayedWay(asked=asked, links=links, rests=rests, word=word)
    states, says = _states_of(way, chosen, to)
    compiled = car.compiled_with(asked.changes, {**asked.state, **asked.before}) if states else car.compiled
    lines = _lines(way, states, play(compiled, states) if states else ())
    here = next((k for k, line in enumerate(lines) if line.is_here), -1)
    there = [k for k, line in enumerate(lines) if line.href]
    return PlayedStrip(
        ways=tuple(
            WayOffered(says=one.says, href=way.at(way.moved(one.moves[0]), {}, play=one.word), is_here=one is chosen)
            for one in ways
        ),
        says=says,
        lines=lines,
        back=next((lines[k].href for k in reversed(there) if k < here), "") if here >= 0 else "",
        on=next((lines[k].href for k in there if k > here), ""),
        end=way.at(asked.state, asked.before) if chosen is not None else "",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _PlayedWay:
    """A way that is played. rests: each variable at rest.   word: of the way; empty where an address leads along it."""

    asked: StateAsked
    links: JobLinks
    rests: Mapping[str, str]
    word: str

    def at(self, state: Mapping[str, str], before: Mapping[str, str], **more: str) -> str:
        """The address of the car set so."""
        unplug = ",".join(self.asked.unplugged)
        query = {"state": state_text(state), "before": state_text(before), "unplug": unplug, **more}
        return job_path(self.links.job, "car", query=query)

    def moved(self, move: Mapping[str, str]) -> dict[str, str]:
        """The state asked about with some variables moved, without what is at rest."""
        return {name: value for name, value in {**self.asked.state, **move}.items() if value != self.rests[name]}


def _states_of(way: _PlayedWay, chosen: Way | None, to: Mapping[str, str] | None) -> tuple[list[dict[str, str]], str]:
    """The states along a way, and what is played; none where nothing is."""
    asked = way.asked
    if chosen is not None:
        return [way.moved(move) for move in chosen.moves], chosen.says
    if asked.before:
        return [way.moved(asked.before), dict(asked.state)], "the state before, and this one"
    if to is not None:
        return [dict(asked.state), dict(to)], "this state, and what it goes on to"
    return [], ""


def _lines(way: _PlayedWay, states: Sequence[dict[str, str]], steps: Sequence[PlayedStep]) -> tuple[PlayedLine, ...]:
    """A line a step; what happens in one is told from the last before it that can occur."""
    asked, rests = way.asked, way.rests
    lines: list[PlayedLine] = []
    earlier: dict[str, str] = {}
    for number, (state, step) in enumerate(zip(states, steps, strict=True), start=1):
        before = {name: earlier.get(name, rests[name]) for name in {*state, *earlier}} if lines else {}
        before = {name: value for name, value in before.items() if value != state.get(name, rests[name])}
        is_here = state == dict(asked.state) and (before == dict(asked.before) or (not lines and not asked.before))
        more = {"play": way.word} if way.word else {"to": state_text(states[1])} if number == 1 else {}
        lines.append(
            PlayedLine(
                number=number,
                says=_moved_words(state, earlier, rests) if lines else _words(state),
                href=way.at(state, before, **more) if step.occurs else "",
                is_here=is_here,
                occurs=step.occurs,
                facts=tuple(_facts(step, is_first=not lines)),
            )
        )
        if step.occurs:
            earlier = state
    return tuple(lines)


def _facts(step: PlayedStep, *, is_first: bool) -> Iterator[PlayedFact]:
    held = tuple(part for part in step.holds if part not in step.by_past)
    told = (
        PlayedFact(word="pulled" if is_first else "pulls in", parts=step.pulls, energised=True),
        PlayedFact(word="drops", parts=step.drops),
        PlayedFact(word="stays pulled", parts=held, energised=True),
        PlayedFact(word="held by its past", parts=step.by_past, energised=True),
        PlayedFact(word="alive" if is_first else "comes alive", parts=step.wakes, energised=True),
        PlayedFact(word="dies", parts=step.dies),
        PlayedFact(word="stays alive", parts=tuple(p for p in step.alive if p not in step.wakes), energised=True),
        PlayedFact(word="works" if is_first else "goes on", parts=step.goes_on, energised=True),
        PlayedFact(word="goes off", parts=step.goes_off),
        PlayedFact(word="stays on", parts=step.stays_on, energised=True),
        PlayedFact(word="buzzes", parts=step.buzzes),
    )
    return (fact for fact in told if fact.parts)


def _words(state: Mapping[str, str]) -> str:
    return ", ".join(f"{name} {value}" for name, value in state.items()) or "everything at rest"


def _moved_words(state: Mapping[str, str], earlier: Mapping[str, str], rests: Mapping[str, str]) -> str:
    """What moved since the step before."""
    names = [name for name in rests if state.get(name, rests[name]) != earlier.get(name, rests[name])]
    return ", ".join(f"{name} {state.get(name, rests[name])}" for name in names) or "nothing moves"
