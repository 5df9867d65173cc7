"""What is the car's network, from its sheets and part kinds?

In: a `Job`, the part kinds, and what is changed for this question (a plug off, a fuse pulled). Out: a `Network`.
Metals are nodes joined only by straps, bonds and bolted joints that are stated; a case hangs on its metal by one
milliohm; wires carry the resistance of their construction at the temperature of the hotter end, their two crimps and
the
contact of the connector they sit in. Nothing is ideal, nothing is merged. A length or size the sheets leave open is
taken provisionally and noted.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loomwright.job.air import air_at_places_c
from loomwright.job.cells_read import all_looked_at
from loomwright.job.job import Job
from loomwright.job.plugs import held_terminals
from loomwright.job.rows import Part, SwitchContact
from loomwright.job.variables import Variable, variables_of
from loomwright.job.vehicle import vehicle_of
from loomwright.network.battery_string import battery_string
from loomwright.network.controller import add_controller
from loomwright.network.draft import Draft
from loomwright.network.parts import PartSite, add_part
from loomwright.network.records import Changes, Element, Law, Network
from loomwright.network.wiring import add_wires, aliases_of
from loomwright.refusals import NoAnswer
from loomwright.tables.constants import constant
from loomwright.tables.kinds import Kind, load_abilities, resolve_settings

__all__ = ["METALS", "build_network", "ohmmeter", "points_off"]

# an ohmmeter at its limit still holds what it measures: without, no diode would ever open under it
_METER_LEAK_SIEMENS = 1e-9
METALS = ("body", "engine", "gearbox", "axle")
"""Metals every car has."""


def build_network(
    job: Job,
    kinds: Mapping[str, Kind],
    changes: Changes | None = None,
    variables: Sequence[Variable] | None = None,
) -> Network:
    """The network of a whole car.

    Args:
        changes: what differs from the sheets for this question.
        variables: state variables, where more values are wanted than the job names; default: those of the job.
    Raises:
        NoAnswer: the car has no battery, so volts have nothing to be measured against.
    """
    changes = changes or Changes()
    vehicle = vehicle_of(job)
    parts = [part for part in job.parts if part.fitted != "removed" and part.id not in changes.removed]
    string = battery_string(job, parts)
    if not string:
        raise NoAnswer(
            "volts", ("no part of kind `battery` in the sheet parts: add one, its plus and its minus wired",)
        )
    draft = Draft(
        variables=_with_phase(job, tuple(variables or variables_of(job, kinds))),
        design_ambient_c=vehicle.design_ambient_c,
        changes=changes,
        ambient_of=air_at_places_c(job),
        live_sign=vehicle.live_sign,
    )
    thermal = draft.thermal()
    off = points_off(job, kinds, changes)
    _add_metals(draft, job, vehicle.bolted)
    metals = _metals(job)
    wired = _wired(job)
    contacts: dict[str, list[SwitchContact]] = {}
    for row in job.contacts:
        contacts.setdefault(row.part, []).append(row)
    for part in parts:
        kind = _kind(job, kinds, part)
        site = PartSite(
            draft=draft,
            part=part,
            kind=kind,
            settings=resolve_settings(kind, part.settings, part.rated_v or vehicle.system_v),
            contacts=tuple(contacts.get(part.id, ())),
            wired=frozenset(wired.get(part.id, ())),
            off=off,
            metals=metals,
            live_post=f"{string[-1]}.{'-' if vehicle.earth == 'positive' else '+'}",
            system_v=vehicle.system_v,
        )
        add_part(site)
        if kind.duty == "controller":
            _add_controller(site, job)
    add_wires(draft, job, kinds, metals)
    aliases = aliases_of(job, kinds)
    _add_bridges(draft, aliases)
    earthed = vehicle.earthed_post
    return Network(
        nodes=tuple(draft.nodes),
        elements=tuple(draft.elements),
        devices=tuple(draft.devices),
        selectors=tuple(draft.selectors),
        variables=draft.variables,
        reference=draft.node(f"{string[0]}.{earthed}"),
        thermal=thermal,
        notes=tuple(draft.notes),
        aliases=aliases,
    )


def _with_phase(job: Job, variables: tuple[Variable, ...]) -> tuple[Variable, ...]:
    """The variable `phase`, where a drive is on for a time only: the first moments of its condition, then settled."""
    if not any(drive.for_s for drive in job.drives) or any(variable.name == "phase" for variable in variables):
        return variables
    return (*variables, Variable(name="phase", values=("settled", "first"), rest="settled"))


def points_off(job: Job, kinds: Mapping[str, Kind], changes: Changes) -> frozenset[str]:
    """Points whose plug is off: cavities of the connectors, all terminals of the parts, or the points themselves, that
    are named as unplugged."""
    off = {name for name in changes.unplugged if "." in name}
    for name in changes.unplugged:
        rows = [row for row in job.connectors if row.id == name]
        for row in rows:
            wired = _terminals_wired(job, row.part)
            off |= {f"{row.part}.{terminal}" for terminal in wired.intersection(held_terminals(job, row, wired))}
        if not rows:
            off |= {f"{name}.{terminal}" for terminal in _terminals_wired(job, name)}
    return frozenset(off)


def _terminals_wired(job: Job, part: str) -> set[str]:
    ends = [end for wire in job.wires for end in (wire.from_, wire.to)]
    wired = {end.split(".", 1)[1] for end in ends if end.startswith(part + ".")}
    return wired | {pin.terminal for pin in job.controller_pins if pin.part == part}


def _metals(job: Job) -> frozenset[str]:
    return frozenset((*METALS, *(metal.id for metal in job.metals)))


def _add_metals(draft: Draft, job: Job, bolted: Sequence[tuple[str, str]]) -> None:
    for metal in sorted(_metals(job)):
        draft.node(metal)
    for a, b in bolted:
        _join(draft, f"{a}-{b}", a, b, constant("bolted_metal_ohm"), "bolted")
    for bond in job.bonds:
        _join(draft, f"{bond.from_}-{bond.to}", bond.from_, bond.to, (bond.mohm or 0.5) / 1000.0, "bond")


def _join(draft: Draft, name: str, a: str, b: str, ohm: float, kind: str) -> None:
    draft.add(
        Element(
            name=name, a=draft.node(a), b=draft.node(b), law=Law.LINEAR, figures=((1.0 / ohm, 0.0),), type=kind
        )
    )  # fmt: skip


def _kind(job: Job, kinds: Mapping[str, Kind], part: Part) -> Kind:
    kind = kinds.get(part.kind)
    if kind is None:
        raise NoAnswer(part.id, (f"kind {part.kind} is in no library and not in the sheet kinds",))
    return kind


def _wired(job: Job) -> dict[str, set[str]]:
    """The terminals of every part at which a wire ends, nothing as the name of a part that is its own terminal."""
    wired: dict[str, set[str]] = {}
    wires = all_looked_at(job.wires, ("fitted", "from_", "to"))
    for end in {end for wire in wires if wire.fitted != "removed" for end in (wire.from_, wire.to)}:
        part, _, terminal = end.partition(".")
        wired.setdefault(part, set()).add(terminal)
    return wired


def _add_controller(site: PartSite, job: Job) -> None:
    pins = [pin for pin in job.controller_pins if pin.part == site.part.id]
    add_controller(
        site.draft,
        site.part,
        site.settings,
        pins,
        job.needs,
        job.drives,
        load_abilities(),
        {pin.terminal: site.node_of(pin.terminal) for pin in pins},
        site.draft.node(site.live_post),
    )


def _add_bridges(draft: Draft, aliases: Mapping[str, str]) -> None:
    def node(point: str) -> int:
        return draft.node(aliases.get(point, point))

    changes = draft.changes
    for count, short in enumerate(changes.shorts, start=1):
        row = (1.0 / short.ohm, 0.0)
        name = f"bridge.{count}"
        draft.add(Element(name=name, a=node(short.a), b=node(short.b), law=Law.LINEAR, figures=(row,), type="bridge"))
    for count, (a, b, watt) in enumerate(changes.lamps, start=1):
        figures = (12.0, watt / 12.0, 12.0 * 12.0 / watt * constant("lamp_cold_frac"))
        draft.add(
            Element(name=f"test_lamp.{count}", a=node(a), b=node(b), law=Law.LAMP, figures=(figures,), type="lamp")
        )  # fmt: skip
    for count, (a, b, amps, ceiling_v) in enumerate(changes.tested, start=1):
        draft.add(ohmmeter(f"ohmmeter.{count}", node(a), node(b), amps, ceiling_v))


def ohmmeter(name: str, a: int, b: int, amps: float, ceiling_v: float) -> Element:
    """An ohmmeter between two nodes of a network.

    Args:
        amps, ceiling_v: what it pushes through, and the volts it stops at. [A, V]
    """
    limited = (1e4, ceiling_v, -amps, amps, _METER_LEAK_SIEMENS)
    return Element(name=name, a=a, b=b, law=Law.CLAMP, figures=(limited,), type="meter")
