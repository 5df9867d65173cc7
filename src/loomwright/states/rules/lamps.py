"""Which lamps of the car are road lights and tell-tales, and how does each glow?

By the column `role` only; nothing is guessed from an id. A lamp with two filaments has one role in its row: its
terminals say which filament is which (54 brake, 58 tail, 56a main, 56b dipped), the side goes by the role. The lamps of
a trailer have theirs by their ways of its socket. Lit is 70 %
of the rated amps, a glow 20 %, as a test lamp is judged; a lamp is called dark below 30 %, so that one that is only
tired is not.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np

from loomwright.states.asking.answers import Answers, type_bool
from loomwright.states.asking.cones import Cones
from loomwright.states.asking.scene import Scene
from loomwright.states.rules.load_elements import LoadElement, load_elements
from loomwright.tables.constants import constant

__all__ = ["DARK_SHARE", "TRAILER", "Lamps", "any_at", "any_lit", "at_rest", "is_dark", "lamps_of", "on_supply"]

TRAILER = "trailer_socket"
"""The kind whose lamps are there while its trailer is: whether it is, is no switch of theirs."""
DARK_SHARE = 0.3
"""Share of its rated amps below which a lamp is dark beside one that is lit [-]."""
_BY_TERMINAL = {"54": "brake_lamp", "58": "tail", "56a": "main", "56b": "dipped"}
_OF_TRAILER = {
    "turn_left": "turn_left_rear",
    "turn_right": "turn_right_rear",
    "tail_left": "tail_left",
    "tail_right": "tail_right",
    "brake": "brake_lamp",
    "fog": "fog_rear",
    "reverse": "reverse_lamp",
}
_SIDED = ("tail", "main", "dipped")
_NOT_OWN = ("key", "engine", "selector", "battery", "phase", "unplugged")
_CUTS_SUPPLY = ("isolator", "crash_switch", "immobiliser")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lamps:
    """Lamps by role. own: lamp -> the variables of its own switches, those of the car's supply left out."""

    scene: Scene
    by_role: Mapping[str, tuple[LoadElement, ...]]
    own: Mapping[str, tuple[int, ...]]

    def of(self, *roles: str) -> tuple[LoadElement, ...]:
        """The lamps of some roles, in order."""
        return tuple(lamp for role in roles for lamp in self.by_role.get(role, ()))


def lamps_of(scene: Scene, cones: Cones) -> Lamps:
    """The lamps that have a role."""
    found: dict[str, list[LoadElement]] = {}
    for lamp in load_elements(scene):
        for role in _roles_of(scene, lamp):
            found.setdefault(role, []).append(lamp)
    cutting = frozenset(part for part in scene.parts if _cuts(scene, part))
    own = {lamp.name: _own_variables(scene, cones, lamp, cutting) for lamps in found.values() for lamp in lamps}
    return Lamps(scene=scene, by_role={role: tuple(lamps) for role, lamps in found.items()}, own=own)


def _roles_of(scene: Scene, lamp: LoadElement) -> tuple[str, ...]:
    if scene.parts[lamp.part].kind == TRAILER:
        return tuple(role for name, role in _OF_TRAILER.items() if lamp.name == f"{lamp.part}.{name}")
    roles = tuple((scene.parts[lamp.part].role or "").split())
    # what the kind has counts, not what is wired: with one filament open the other does not take its role
    names = {terminal.name for terminal in scene.kind(lamp.part).terminals}
    if not roles or len(names & _BY_TERMINAL.keys()) < 2:
        return roles
    terminals = {scene.name_of(node).split(".", 1)[-1] for node in (lamp.a, lamp.b)}
    kept = []
    for terminal in terminals & _BY_TERMINAL.keys():
        word = _BY_TERMINAL[terminal]
        side = next((role.rsplit("_", 1)[1] for role in roles if role.endswith(("_left", "_right"))), "")
        kept.append(f"{word}_{side}" if word in _SIDED and side else word)
    return tuple(kept)


def _own_variables(scene: Scene, cones: Cones, lamp: LoadElement, cutting: frozenset[str]) -> tuple[int, ...]:
    """The variables that switch a lamp, without key, engine, selector, figures, and what cuts the whole supply."""
    variables = scene.compiled.network.variables
    cutting = cutting | {part.id for part in scene.parts.values() if part.kind == TRAILER}
    return tuple(
        index
        for index in sorted(cones.of(lamp.indices))
        if variables[index].name not in _NOT_OWN
        and not variables[index].numeric
        and not cutting.intersection(variables[index].parts)
    )


def at_rest(variables: Iterable[int], answers: Answers) -> type_bool:
    """Where all of the variables have their rest value."""
    asked = tuple(variables)
    return answers.once(("at rest", asked), partial(_at_rest, asked))


def _at_rest(variables: tuple[int, ...], answers: Answers) -> type_bool:
    fine = np.ones(answers.count, bool)
    for index in variables:
        variable = answers.compiled.network.variables[index]
        fine &= answers.batch.values[:, index] == variable.values.index(variable.rest)
    return fine


def any_at(variables: tuple[tuple[int, tuple[int, ...]], ...], answers: Answers) -> type_bool:
    """Where any of the variables has one of its values."""
    return answers.once(("any at", variables), partial(_any_at, variables))


def _any_at(variables: tuple[tuple[int, tuple[int, ...]], ...], answers: Answers) -> type_bool:
    found = np.zeros(answers.count, bool)
    for variable, values in variables:
        found |= np.isin(answers.batch.values[:, variable], values)
    return found


def on_supply(scene: Scene, answers: Answers) -> type_bool:
    """Where no isolator, crash switch or immobiliser cuts the supply, and the battery holds its load."""
    names = [
        index
        for index, variable in enumerate(scene.compiled.network.variables)
        if any(_cuts(scene, part) for part in variable.parts)
    ]
    return at_rest(names, answers) & ~answers.collapsed()


def _cuts(scene: Scene, part: str) -> bool:
    row = scene.parts.get(part)
    return row is not None and (row.kind in _CUTS_SUPPLY or bool(set((row.role or "").split()) & set(_CUTS_SUPPLY)))


def is_dark(lamp: LoadElement, answers: Answers) -> type_bool:
    """Where a lamp is dark because it is not fed: low volts alone dim an LED long before a filament."""
    return answers.once(("dark", lamp.indices, lamp.a, lamp.b, lamp.rated_a, lamp.rated_v), partial(_is_dark, lamp))


def _is_dark(lamp: LoadElement, answers: Answers) -> type_bool:
    has_volts = lamp.across(answers) >= constant("works_frac") * lamp.rated_v
    return (lamp.share(answers) < DARK_SHARE) & ~has_volts


def any_lit(lamps: Iterable[LoadElement], answers: Answers, share: float | None = None) -> type_bool:
    """Where any of the lamps is lit.

    Args:
        share: of its rated amps; the test lamp's `full` where left out. [-]
    """
    least = constant("glow_full_frac") if share is None else share
    lit = np.zeros(answers.count, bool)
    for lamp in lamps:
        lit |= lamp.carries(answers, least)
    return lit
