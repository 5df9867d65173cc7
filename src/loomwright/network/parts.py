"""Which elements does one part put into the network?

The part's kind says so (data); this page turns terminals into nodes, chooses the elements whose conditions hold, reads
the rows of the sheet `contacts` where a switch has them, and hangs the case on its metal.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from loomwright.job.rows import Part, SwitchContact
from loomwright.network.draft import Draft
from loomwright.network.element_types import ELEMENT_TYPES, Spot, position_guards
from loomwright.network.machines import MACHINE_TYPES
from loomwright.network.records import Element, Law
from loomwright.tables.constants import constant
from loomwright.tables.joints import joint_ohm
from loomwright.tables.kinds import Kind, KindElement, case_of, design_a, elements_of

__all__ = ["PartSite", "add_part"]

_CASES = ("case", "_case")
_TYPES = {**ELEMENT_TYPES, **MACHINE_TYPES}


@dataclass(frozen=True, slots=True, kw_only=True)
class PartSite:
    """A part on its way into the network.

    wired: terminals with a wire ("" where a one-terminal part is wired by its own name). off: points whose plug is off.
    live_post: the battery's unearthed post. system_v: the car's nominal volts. [V]
    """

    draft: Draft
    part: Part
    kind: Kind
    settings: Mapping[str, float | str]
    contacts: tuple[SwitchContact, ...]
    wired: frozenset[str]
    off: frozenset[str]
    metals: frozenset[str]
    live_post: str
    system_v: float

    def node_of(self, terminal: str) -> int:
        """The node of a terminal; on the pin's side where its plug is off."""
        if terminal.startswith("@"):
            return self.draft.node(terminal[1:])
        point = f"{self.part.id}.{terminal}"
        return self.draft.node(f"~{point}" if point in self.off else point)


def add_part(site: PartSite) -> None:
    """Add a part's nodes, elements and devices."""
    for terminal in site.kind.terminals:
        if "*" not in terminal.name:
            site.node_of(terminal.name)
    coils: dict[str, int] = {}
    replaced = {frozenset(pair) for row in site.contacts for group in row.joins for pair in pairwise(group)}
    for element in elements_of(site.kind, site.settings, site.wired):
        if element.type == "switch" and site.contacts and (replaced or site.kind.id == "switch_matrix"):
            continue
        if element.type in ("joined", "pair"):
            _add_joined(site, element)
            continue
        _add_element(site, element, coils)
    _add_contacts(site)
    _add_case(site)


def _add_element(site: PartSite, element: KindElement, coils: dict[str, int]) -> None:
    ends = element.between
    before = len(site.draft.devices)
    figures: dict[str, object] = dict(element.params)
    rated_a = design_a(element, site.system_v)
    if rated_a is not None:
        figures.setdefault("rated_a", rated_a)
    spot = Spot(
        draft=site.draft,
        part=site.part.id,
        place=site.part.place or "",
        name=f"{site.part.id}.{element.name}",
        type=element.type,
        a=site.node_of(ends[0]),
        b=_second_node(site, element),
        between=(ends[0], ends[-1]),
        figures=figures,
        variable=variable_name(site.part, site.kind, site.settings),
        coils=coils,
        node_of=site.node_of,
    )
    _TYPES[element.type](spot)
    if element.type == "coil" and len(site.draft.devices) > before:
        coils[element.name] = len(site.draft.devices) - 1


def _second_node(site: PartSite, element: KindElement) -> int:
    # a source without volts of its own is a way to the battery's live post
    if element.type == "source" and "volts" not in element.params:
        return site.draft.node(site.live_post)
    return site.node_of(element.between[-1])


def variable_name(part: Part, kind: Kind, settings: Mapping[str, float | str]) -> str:
    """The state variable a part moves: named by its kind, by its setting `variable`, else its own id."""
    return str(settings.get("variable") or kind.variable or part.id)


def _add_joined(site: PartSite, element: KindElement) -> None:
    """Splices and busbars (all in a star of joints) and inline connectors (each pin with its socket)."""
    ohm = element.params.get("ohm")
    if element.type == "pair":
        first, second = (pattern.replace("*", "") for pattern in element.between)
        if site.part.id in site.draft.changes.unplugged:
            return
        numbers = sorted({t[: -len(first)] for t in site.wired if t.endswith((first, second))})
        figure = float(ohm) if isinstance(ohm, int | float) else joint_ohm("connector_contact")
        for number in numbers:
            _link(site, f"{element.name}{number}", f"{number}{first}", f"{number}{second}", figure)
        return
    named = [end for end in element.between if "*" not in end]
    terminals = sorted(set(named) | (site.wired - {""} if site.kind.numbered else set()))
    figure = float(ohm) if isinstance(ohm, int | float) else joint_ohm("splice")
    for terminal in terminals:
        _link(site, f"{element.name}.{terminal}", terminal, f"_{element.name}", figure / 2.0)


def _link(site: PartSite, name: str, a: str, b: str, ohm: float) -> None:
    site.draft.add(
        Element(
            name=f"{site.part.id}.{name}",
            a=site.node_of(a),
            b=site.node_of(b),
            law=Law.LINEAR,
            figures=((1.0 / ohm, 0.0),),
            part=site.part.id,
            type="joint",
        )
    )


def _add_contacts(site: PartSite) -> None:
    """The rows of the sheet `contacts`: which terminals meet in which position of which gang."""
    closed: dict[tuple[str, str, str], list[str]] = {}
    rating: dict[tuple[str, str, str], float | None] = {}
    for row in site.contacts:
        variable = gang_variable(site, row)
        for group in row.joins:
            for a, b in pairwise(group):
                key = (variable, a, b)
                closed.setdefault(key, []).append(row.position)
                rating[key] = row.rating_a if row.rating_a is not None else rating.get(key)
    joint = "key_contact" if site.kind.id == "key_switch" else "switch_contact"
    for (variable, a, b), positions in closed.items():
        held = site.part.id in site.draft.changes.stuck
        site.draft.add(
            Element(
                name=f"{site.part.id}.{a}-{b}",
                a=site.node_of(a),
                b=site.node_of(b),
                law=Law.LINEAR,
                figures=((1.0 / joint_ohm(joint), 0.0),),
                guards=() if held else position_guards(site.draft, variable, tuple(positions)),
                part=site.part.id,
                type="switch",
                rating_a=rating[(variable, a, b)],
                motor_a=rating[(variable, a, b)],
                lamp_a=rating[(variable, a, b)],
            )
        )


def gang_variable(site: PartSite, row: SwitchContact) -> str:
    """The state variable of one gang of a switch."""
    if row.variable:
        return row.variable
    own = variable_name(site.part, site.kind, site.settings)
    gangs = {other.gang for other in site.contacts if not other.variable}
    return own if len(gangs) <= 1 else f"{site.part.id}.{row.gang}"


def _add_case(site: PartSite) -> None:
    used = {end for element in site.kind.elements for end in element.between}
    for case in _CASES:
        if case not in used and case not in {terminal.name for terminal in site.kind.terminals}:
            continue
        metal = case_of(site.kind, site.settings)
        if metal in site.metals:
            _link_to(site, case, metal)


def _link_to(site: PartSite, case: str, metal: str) -> None:
    site.draft.add(
        Element(
            name=f"{site.part.id}.{case}",
            a=site.node_of(case),
            b=site.draft.node(metal),
            law=Law.LINEAR,
            figures=((1.0 / constant("case_ohm"), 0.0),),
            part=site.part.id,
            type="case",
        )
    )
