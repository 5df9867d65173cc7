"""What does the fault finder show: what was read, which faults explain it, where they are, and what to read next?"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from loomwright.job.job import Job
from loomwright.job.rows import Reading
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.suspect_marks import suspects_of_address, suspects_text
from loomwright.proving.locate import AT_REST, Located, NextPoint, SuspectGroup
from loomwright.proving.next_point import shown_as
from loomwright.proving.ohms_next import OHMS_PUT, OHMS_RANGE
from loomwright.proving.put_off import LAMP
from loomwright.refusals import Problem

__all__ = ["FaultPage", "NextCard", "ReadLine", "SuspectLine", "fault_page"]

_MOST = 8
_LEAST = 0.002
_PRINTED = 100.0
_SHOWN_LEAST = 5e-5
"""Less than this shows as nought, in volts or amps. [-]"""
_MOVES = "Key off and the engine standing while anything comes off or goes back."
_AT_LAMP = (
    "Earth lead off its post, the lamp between the two. Bright: the short is still in. What wants more does not work."
)
_LAMP_OUT = "The lamp comes out only once what is suspected is off: a short that is still in burns its wire."
_BARE_END = "A wire that is off: its bare end capped and tied back."
_AT_CLAMP = "A clamp for steady amps, set to nought before it closes."
_AT_OHMS = "Key off, the battery's earth lead off its post, before a tip touches: a live car spoils the meter."
_AT_START = "Chocks, gear in P or neutral, nobody in front; the starter turns, and the engine may catch."
_AT_RUNNING = "Engine running: exhaust led off, hands, leads and cloths clear of fans and belts."
"""At the step itself; common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadLine:
    """One reading. sound: what a sound car shows there; empty where that is not plain.

    doubted: no single fault gives it.
    """

    point: str
    when: str
    shown: str
    sound: str
    time: str
    doubted: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SuspectLine:
    """A fault, or several that nothing read so far tells apart. percent: of all of them.   share: 0 to 100. [%]"""

    says: str
    place: str
    percent: str
    share: int
    things: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NextCard:
    """A reading worth taking. steps: what goes back, stays off and comes off first.

    expect: what a sound car shows there.   together: whether all wires of the terminal go into the clamp.
    cautions: what can hurt at it.
    """

    point: str
    to: str
    measure: str
    together: bool
    unit: str
    off: str
    steps: tuple[str, ...]
    when: str
    state: str
    expect: str
    place: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultPage:
    """The page. hunt: which readings belong together, in a word of the person's.   hunts: the others there are.

    asks: why a reading is asked about once more.   states: of the car, as they may be typed.   variables: each with its
    values.
    """

    waiting: bool
    stopped: bool
    done: int
    of: int
    hunt: str
    hunts: tuple[tuple[str, str], ...]
    readings: tuple[ReadLine, ...]
    suspects: tuple[SuspectLine, ...]
    next: tuple[NextCard, ...]
    tried: int
    pairs: int
    drawings: tuple[tuple[str, str], ...]
    plan: str
    points: tuple[str, ...]
    states: tuple[str, ...]
    variables: tuple[tuple[str, str], ...]
    asks: str
    meters: tuple[str, ...]
    typed: Mapping[str, str]
    problems: tuple[Problem, ...]
    save: str
    stop: str
    again: str
    survey: str
    links: JobLinks


def fault_page(
    job: Job,
    located: Located | None,
    links: JobLinks,
    *,
    hunt: str,
    readings: tuple[Reading, ...],
    points: tuple[str, ...],
    states: tuple[str, ...] = (),
    variables: tuple[tuple[str, str], ...] = (),
    off_words: Callable[[Sequence[str]], str] = " ".join,
    sound: Callable[[Reading], str],
    asks: str = "",
    meters: tuple[str, ...] = (),
    typed: Mapping[str, str],
    problems: tuple[Problem, ...],
    stopped: bool,
    done: int,
    of: int,
) -> FaultPage:
    """The page.

    Args:
        located: None while it is worked out.
        readings: those of this hunt.
        points: that a probe may be put to.
        states: of the car, in which one measures.
        variables: each with its values, in words.
        off_words: says what is off the car.
        sound: says what a sound car shows at a reading.
        asks: why the reading is asked about.
        meters: of the shop, that a reading may be taken from.
        typed: what stands in the form.
        done, of: faults done and to do. [-]
    """
    hunts = dict.fromkeys(one.visit for one in job.readings if one.point and one.visit)
    last = readings[-1] if readings else None
    likely = () if located is None else located.groups
    marked = suspects_text(likely) if readings else ""
    stood = readings[-1].when.text.replace(", ", ",") if readings else ""
    asked = {"suspects": marked, **({"state": stood} if stood else {})}
    return FaultPage(
        waiting=located is None and not stopped and not problems and not asks,
        stopped=stopped,
        done=done,
        of=of,
        hunt=hunt,
        hunts=tuple((word, job_path(links.job, "fault", query={"hunt": word})) for word in hunts if word != hunt),
        readings=tuple(_read(one, located, off_words, sound) for one in readings),
        suspects=tuple(_suspect(one) for one in likely[:_MOST] if one.odds >= _LEAST),
        next=() if located is None else tuple(_next(job, one, last, off_words) for one in located.next[:3]),
        tried=0 if located is None else located.faults,
        pairs=0 if located is None else located.pairs,
        drawings=_drawings(job, links, asked),
        plan=job_path(links.job, "car-plan", query=asked) if marked and links.has("car-plan") else "",
        points=points,
        states=states,
        variables=variables,
        asks=asks,
        meters=meters,
        typed=typed,
        problems=problems,
        save=job_path(links.job, "fault"),
        stop=job_path(links.job, "fault", "stop", query={"hunt": hunt}),
        again=job_path(links.job, "fault", "again", query={"hunt": hunt}),
        survey=links.page_named("survey"),
        links=links,
    )


def _drawings(job: Job, links: JobLinks, asked: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """The circuits that suspects belong to, each with the address of its drawing on which they are struck.

    Args:
        asked: of the address: the suspects, and the car as it stood for the last reading.
    """
    home = {part.id: part.circuit for part in job.parts} | {wire.id: wire.circuit for wire in job.wires}
    circuits = dict.fromkeys(home.get(name, "") for name in suspects_of_address(asked["suspects"]))
    return tuple((name, job_path(links.job, "circuit", name, query=asked)) for name in list(circuits)[:_MOST] if name)


def _read(
    one: Reading, located: Located | None, off_words: Callable[[Sequence[str]], str], sound: Callable[[Reading], str]
) -> ReadLine:
    value = str(one.value)
    if isinstance(one.value, int | float):
        value = shown_as(_no_less_than_nothing(float(one.value)), one.unit)
    return ReadLine(
        point=_put_to(one),
        when=(one.when.text or AT_REST) + (f"; {off_words(one.off)}" if one.off else ""),
        shown=value.strip(),
        sound=sound(one),
        time=one.time,
        doubted=located is not None and one in located.asked_again,
    )


def _put_to(one: Reading) -> str:
    if one.measure != "clamp":
        return one.point + (f" to {one.to}" if one.to else "")
    wires = f"all wires at {one.point}" if "." in one.point else one.point
    return f"clamp round {wires}" + (f" at {one.to}" if one.to else "")


def _suspect(group: SuspectGroup) -> SuspectLine:
    percent = _PRINTED * group.odds
    named = dict.fromkeys(one.at[0] for one in group.suspects if one.at)
    return SuspectLine(
        says=group.says,
        place=group.place,
        percent=f"{percent:.0f} %" if percent >= 1.0 else "under 1 %",
        share=round(percent),
        things=tuple(named)[:6],
    )


def _no_less_than_nothing(value: float) -> float:
    """A figure without a minus before what is shown as nought; in the reading's unit."""
    return value if abs(value) >= _SHOWN_LEAST else 0.0


def _steps(one: NextPoint, last: Reading | None, words: Callable[[Sequence[str]], str]) -> tuple[str, ...]:
    """What is done to the car before a reading, after what was off for the last one; how the meter is set for ohms."""
    off = () if last is None else last.off
    back = [name for name in off if name not in one.off]
    still = [name for name in off if name in one.off]
    more = [name for name in one.off if name not in off]
    dead, was_dead = one.measure == "ohms", last is not None and last.measure == "ohms"
    off_now, off_still = dead and not was_dead, dead and was_dead
    told = (
        ("first", f"key off, {OHMS_PUT}" if off_now else ""),
        ("no longer", words(back) if back else ""),
        ("still", "; ".join([*([OHMS_PUT] if off_still else []), *([words(still)] if still else [])])),
        ("then" if back or still or off_now or off_still else "first", words(more) if more else ""),
        ("last", "the battery's earth lead back on" if was_dead and not dead and LAMP not in one.off else ""),
        ("meter", OHMS_RANGE if dead else ""),
    )
    return tuple(f"{word[:1].upper()}{word[1:]}: {says}" for word, says in told if says)


def _cautions(job: Job, one: NextPoint, off: Sequence[str]) -> tuple[str, ...]:
    """What can hurt at a reading: at what comes off, at the lamp, at a clamp, at ohms, in that state of the car."""
    moved = set(one.off) ^ set(off)
    told = [_MOVES] if moved else []
    if LAMP in one.off:
        told.append(_AT_LAMP)
    elif LAMP in off and one.measure != "ohms":
        told.append(_LAMP_OUT)
    if {name.split(":")[0] for name in moved} & {wire.id for wire in job.wires}:
        told.append(_BARE_END)
    if one.measure == "clamp":
        told.append(_AT_CLAMP)
    if one.measure == "ohms":
        told.append(_AT_OHMS)
    state = dict(pair.split("=", 1) for pair in one.state.split(", ") if "=" in pair)
    if state.get("key") == "start" or state.get("engine") == "cranking":
        told.append(_AT_START)
    elif state.get("engine") in ("idle", "running"):
        told.append(_AT_RUNNING)
    return tuple(told)


def _next(job: Job, one: NextPoint, last: Reading | None, off_words: Callable[[Sequence[str]], str]) -> NextCard:
    """One card."""
    parts = {part.id: part for part in job.parts}
    names = {place.id: place.name or place.id for place in job.places}
    wire = next((wire for wire in job.wires if wire.id == one.point), None)
    ends = (wire.from_, wire.to) if wire is not None else (one.point, one.to)
    found = [parts.get(end.split(".")[0]) for end in ends]
    places = dict.fromkeys(names.get(part.place or "", part.place or "") for part in found if part is not None)
    return NextCard(
        point=one.point,
        to=one.to,
        measure=one.measure,
        together=one.measure == "clamp" and wire is None,
        unit=one.unit,
        off=" ".join(one.off),
        steps=_steps(one, last, off_words),
        cautions=_cautions(job, one, () if last is None else last.off),
        when=one.when,
        state=one.state,
        expect=shown_as(_no_less_than_nothing(one.expected), one.unit),
        place=" to ".join(place for place in places if place),
    )
