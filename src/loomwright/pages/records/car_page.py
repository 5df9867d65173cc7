"""What does the page on which the car is set say: the battery, the controllers, and every circuit in this state?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from loomwright.car import Car
from loomwright.drawings.painting.copper import thickness_mm
from loomwright.findings import id_order
from loomwright.handover.circuit_plan import CarState, CircuitState
from loomwright.handover.state_look import CARRIES_A
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.played_strip import PlayedStrip, played_strip
from loomwright.pages.records.state_asked import StateAsked
from loomwright.pages.records.state_strip import StateStrip, strip_of
from loomwright.pages.records.state_words import amps_text, trouble_of, volts_text

__all__ = ["NO_CIRCUIT", "CarPage", "CircuitGroup", "CircuitLine", "Fact", "car_page", "circuit_href", "circuit_line"]

NO_CIRCUIT = "-"
"""The name under which the wires that belong to no circuit have their page."""

_SHOWN_LOADS = 8
_PX_A_MM = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One figure or word about the whole car. energised: it is told in copper."""

    word: str
    says: str
    energised: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CircuitLine:
    """One circuit. stands: working, carrying, live or dead.   copper: how thick its copper line is drawn; empty = none.

    dots: its loads in order, True where it works.   more: loads that are not among them. [-]
    """

    id: str
    name: str
    href: str
    stands: str
    carried: str
    carried_href: str
    drawn: str
    works: tuple[str, ...]
    loads: int
    copper: str
    dots: tuple[bool, ...]
    more: int
    energised: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CircuitGroup:
    """The circuits of one class."""

    word: str
    lines: tuple[CircuitLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingLine:
    """A circuit with wires that are energised with the key off."""

    id: str
    href: str
    wires: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherPage:
    """Another page about the states of the car."""

    word: str
    says: str
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CarPage:
    """The page. says: the state in words.   key_off: what is energised with the key off; None where there is no key.

    key_off_a: what the battery gives then, printed.   notes: what was taken provisionally, how many. [-]
    """

    says: str
    strip: StateStrip
    played: PlayedStrip
    facts: tuple[Fact, ...]
    trouble: tuple[str, ...]
    groups: tuple[CircuitGroup, ...]
    pulled: tuple[str, ...]
    key_off: tuple[StandingLine, ...] | None
    key_off_a: str
    key_off_href: str
    notes: int
    others: tuple[OtherPage, ...]
    links: JobLinks


def car_page(
    car: Car, asked: StateAsked, links: JobLinks, *, play: str = "", to: Mapping[str, str] | None = None
) -> CarPage:
    """The car in a state.

    Args:
        play: the word of a way that is gone step by step.
        to: the state that this one goes on to.
    Raises:
        OutOfReach: a way that the car does not have.
    """
    played = played_strip(car, asked, links, word=play, to=to)
    links = replace(links, asked=asked.query)
    look = car.in_states.look(asked.state, before=asked.before or None, changes=asked.changes)
    plan = car.in_states.plan(look)
    solved = look.solved
    off = None
    if any(variable.name == "key" for variable in car.variables):
        off = car.in_states.plan(car.in_states.look({}, changes=asked.changes))
    groups: dict[str, list[CircuitLine]] = {}
    for circuit in plan.circuits:
        groups.setdefault(circuit.class_, []).append(circuit_line(circuit, links))
    return CarPage(
        says=asked.says,
        strip=_strip(car, asked, links.job, play),
        played=played,
        facts=tuple(_facts(plan, solved.alive)),
        trouble=trouble_of(solved),
        groups=tuple(
            CircuitGroup(word=word.replace("_", " ") or "without a class", lines=tuple(lines))
            for word, lines in groups.items()
        ),
        pulled=tuple(part for part, lies in sorted(solved.relays.items()) if lies == "pulled"),
        key_off=None
        if off is None
        else tuple(_standing(car, off, replace(links, asked={"unplug": ",".join(asked.unplugged)}))),
        key_off_a="" if off is None else amps_text(sum(one.out_a for one in off.batteries)),
        key_off_href=job_path(links.job, "car", query={"unplug": ",".join(asked.unplugged)}),
        notes=len(solved.notes),
        others=tuple(_others(asked, links)),
        links=links,
    )


def _strip(car: Car, asked: StateAsked, job: str, play: str) -> StateStrip:
    strip = strip_of(
        job_path(job, "car"),
        car.variables,
        state=asked.state,
        job=car.job,
        unplugged=asked.unplugged,
        before=asked.before,
    )
    return replace(strip, hidden=(*strip.hidden, ("play", play))) if play else strip


def _others(asked: StateAsked, links: JobLinks) -> Sequence[OtherPage]:
    """The pages that look at many states at once, as far as they are there."""
    at = {"at": asked.query["state"], "before": asked.query["before"], "unplug": asked.query["unplug"]}
    told: tuple[tuple[str, str, str, dict[str, str]], ...] = (
        ("truth", "Truth table", "chosen points in every combination of switches", at),
        ("worst", "Worst cases", "the most each thing ever carries", {}),
    )
    return [
        OtherPage(word=word, says=says, href=job_path(links.job, name, query=query))
        for name, word, says, query in told
        if links.has(name)
    ]


def circuit_href(links: JobLinks, circuit: str) -> str:
    """The page of a circuit, in the state the links ask along; empty where there is none."""
    return links.page("circuit", circuit or NO_CIRCUIT)


def _facts(plan: CarState, alive: Mapping[str, bool]) -> Sequence[Fact]:
    found: list[Fact] = []
    for battery in plan.batteries:
        found.append(Fact(word=f"battery {battery.part}", says=volts_text(battery.volts)))
        gives = battery.out_a >= 0.0
        found.append(
            Fact(
                word=f"{battery.part} gives" if gives else f"{battery.part} takes",
                says=amps_text(battery.out_a),
                energised=abs(battery.out_a) >= CARRIES_A,
            )
        )
    if plan.alternator_a is not None:
        found.append(
            Fact(
                word="alternator gives",
                says=amps_text(plan.alternator_a),
                energised=abs(plan.alternator_a) >= CARRIES_A,
            )
        )
    found.append(Fact(word="all loads draw", says=amps_text(plan.drawn_a), energised=plan.drawn_a >= CARRIES_A))
    for part, is_on in alive.items():
        found.append(Fact(word=f"controller {part}", says="alive" if is_on else "dead", energised=is_on))
    return found


def circuit_line(circuit: CircuitState, links: JobLinks) -> CircuitLine:
    """One circuit of the plan."""
    works = tuple(load.part for load in circuit.loads if load.works)
    carries = circuit.carried_a >= CARRIES_A
    stands = "working" if works else "carrying" if carries else "live" if circuit.has_volts else "dead"
    return CircuitLine(
        id=circuit.id or "no circuit",
        name=circuit.name or ("wires that belong to none" if not circuit.id else ""),
        href=circuit_href(links, circuit.id),
        stands=stands,
        carried=amps_text(circuit.carried_a) if carries else "",
        carried_href=links.page("wire", circuit.most_wire) if carries else "",
        drawn=amps_text(circuit.drawn_a) if circuit.loads and circuit.drawn_a >= CARRIES_A else "",
        works=works,
        loads=len(circuit.loads),
        copper=_copper(circuit),
        dots=tuple(load.works for load in circuit.loads[:_SHOWN_LOADS]),
        more=max(0, len(circuit.loads) - _SHOWN_LOADS),
        energised=f"{circuit.energised} of {circuit.wires}",
    )


def _copper(circuit: CircuitState) -> str:
    """How thick the copper line of a circuit is drawn; empty where nothing of it is energised."""
    return f"{thickness_mm(circuit.carried_a) * _PX_A_MM:.1f}" if circuit.has_volts else ""


def _standing(car: Car, off: CarState, links: JobLinks) -> Sequence[StandingLine]:
    wires: dict[str, list[str]] = {}
    circuit_of = {wire.id: wire.circuit for wire in car.filled.wires}
    for wire in off.energised:
        wires.setdefault(circuit_of[wire], []).append(wire)
    order = [row.id for row in car.filled.circuits] + [""]
    return [
        StandingLine(
            id=circuit or "no circuit",
            href=circuit_href(links, circuit),
            wires=tuple(sorted(wires[circuit], key=id_order)),
        )
        for circuit in order
        if circuit in wires
    ]
