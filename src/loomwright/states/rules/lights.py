"""Road lights and tell-tales by their roles: LMP-1 to LMP-5.

    road_lights  LMP-1 dark when it should be lit, LMP-2 lit when it should be dark
    here         LMP-3 one fuse darkens both dipped beams; LMP-5 too few watts for a flasher, or too many
    tell_tales   LMP-4 a tell-tale that does not tell the truth

Roles that no part has are not asked.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

import numpy as np

from loomwright.findings import Finding
from loomwright.job.rows import Part
from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled, with_figures
from loomwright.network.solve import solve_many
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.tracing import Ways, live_way, ways_of
from loomwright.states.rules.bridges import first_four
from loomwright.states.rules.lamps import DARK_SHARE, TRAILER, Lamps, lamps_of
from loomwright.states.rules.load_elements import LoadElement
from loomwright.states.rules.loads import way_names
from loomwright.states.rules.road_lights import road_light_watches
from loomwright.states.rules.tell_tales import tell_tale_watches
from loomwright.tables.constants import constant
from loomwright.tables.kinds import resolve_settings

__all__ = ["sheet_findings", "watches"]

_STATES_MOST = 1024
_TURN = {
    "left": ("turn_left_front", "turn_left_rear"),
    "right": ("turn_right_front", "turn_right_rear"),
}


def watches(scene: Scene) -> tuple[Watch, ...]:
    """Every question about lamps that have a role."""
    if not any((part.role or "") for part in scene.parts.values()):
        return ()
    ways = ways_of(scene)
    lamps = lamps_of(scene, scene.cones)
    return (*road_light_watches(lamps, ways), *tell_tale_watches(lamps, ways))


def sheet_findings(scene: Scene) -> tuple[Told, ...]:
    """One fuse for both dipped beams, and flashers with too few watts."""
    if not scene.role_of:
        return ()
    ways = ways_of(scene)
    lamps = lamps_of(scene, scene.cones)
    return (*_one_fuse(scene, ways, lamps), *_light_flashers(scene, ways, lamps))


def _one_fuse(scene: Scene, ways: Ways, lamps: Lamps) -> Iterator[Told]:
    """Each fuse but the main ones pulled in a state with both dipped beams lit: is one of them lit still?"""
    beams = lamps.of("dipped_left", "dipped_right")
    if not (lamps.of("dipped_left") and lamps.of("dipped_right")):
        return
    state = _lit_state(scene, lamps, beams)
    if state is None:
        return
    answers = scene.answers(state[None, :])
    for name in _along(scene, answers, beams[0]):
        part = scene.parts[name]
        if part.kind != "fuse" or _is_main(scene, part):
            continue
        pulled = _pulled(scene, part)
        if all(_share_of(pulled, state, beam) < DARK_SHARE for beam in beams):
            yield _darkened(scene, ways, part, beams)


def _pulled(scene: Scene, fuse: Part) -> Compiled:
    """The car without a fuse: what carries nothing at any volts."""
    arrays = scene.compiled.arrays
    figures = arrays.figures.copy()
    for index in scene.elements_of.get(fuse.id, ()):
        figures[arrays.row[index]] = 0.0
    return with_figures(scene.compiled, figures)


def _along(scene: Scene, answers: Answers, beam: LoadElement) -> tuple[str, ...]:
    """The parts on the way of a lit lamp's current, and on those of the coils and controllers that let it through.

    A fuse that darkens the lamp lies on every such way, so on this one.
    """
    found: dict[str, None] = {}
    waiting = [beam.a, beam.b]
    while waiting:
        for name in live_way(scene, answers, 0, waiting.pop()):
            if name not in scene.parts or name in found:
                continue
            found[name] = None
            for index in scene.elements_of[name]:
                if scene.element(index).type == "coil" or scene.element(index).name.endswith(".draw"):
                    waiting.extend(scene.ends(index))
    return tuple(found)


def _is_main(scene: Scene, part: Part) -> bool:
    """A main fuse feeds more than lamps: a strip or cartridge fuse, or one larger than lamp circuits have."""
    settings = resolve_settings(scene.kinds[part.kind], part.settings, part.rated_v or scene.vehicle.system_v)
    rating = settings.get("rating_a")
    is_large = isinstance(rating, float) and rating >= constant("main_fuse_a")
    return is_large or str(settings.get("family", "")).startswith(("strip", "cartridge"))


def _lit_state(scene: Scene, lamps: Lamps, beams: tuple[LoadElement, ...]) -> type_i | None:
    """The plainest state with every dipped beam lit, of those that their own switches, key and engine make."""
    space = scene.space
    own = {variable for beam in beams for variable in lamps.own[beam.name]}
    free: list[int] = []
    size = 1
    for variable in (*sorted(own), *space.core[:2]):
        size *= len(space.values[variable])
        if variable not in free and size <= _STATES_MOST:
            free.append(variable)
    combos = np.array(list(product(*(space.values[variable] for variable in free))), np.int64).reshape(-1, len(free))
    states = np.repeat(space.rest[None, :], len(combos), axis=0)
    states[:, free] = combos
    answers = scene.answers(states)
    lit = answers.possible.copy()
    for beam in beams:
        lit &= beam.share(answers) >= constant("glow_full_frac")
    rows = np.flatnonzero(lit)
    if not len(rows):
        return None
    away = (states[rows] != space.rest).sum(axis=1)
    return np.asarray(states[rows[int(np.argmin(away))]])


def _share_of(compiled: Compiled, state: type_i, beam: LoadElement) -> float:
    batch = solve_many(compiled, state[None, :])
    amps = sum(float(batch.amps[0, index]) for index in compiled.elements_of[beam.name])
    return abs(amps) / (beam.rated_a or 1.0)


def _darkened(scene: Scene, ways: Ways, fuse: Part, beams: tuple[LoadElement, ...]) -> Told:
    # where a hand belongs is the beam that does not belong to the fuse's own circuit
    odd = sorted(beams, key=lambda beam: scene.parts[beam.part].circuit == fuse.circuit)
    names = [beam.part for beam in odd]
    touches = dict.fromkeys((fuse.id, *(name for beam in odd for name in way_names(ways, beam))))
    finding = Finding(
        rule="LMP-3",
        severity="fault",
        at=first_four((*names, fuse.id)),
        touches=tuple(touches),
        label=f"{names[0]} ({scene.title(names[0])})",
        wrong=f"goes dark together with {' '.join(names[1:])} when one fuse, {fuse.id}, blows",
        mend=f"Give {names[0]} a fuse of its own, before the light switch or behind it",
    )
    return Told(finding, None, None)


def _light_flashers(scene: Scene, ways: Ways, lamps: Lamps) -> Iterator[Told]:
    """Flashers whose lamps of one side are fewer watts than they need, or more than they flash at a fair rate.

    LED bulbs on a thermal one are too few, a trailer's lamps beside the car's may be too many. Whether a flasher is too
    light is asked with no trailer on.
    """
    for part in scene.parts.values():
        if not part.kind.startswith("flasher"):
            continue
        settings = resolve_settings(scene.kinds[part.kind], part.settings, part.rated_v or scene.vehicle.system_v)
        least_w, most_w = settings.get("min_w"), settings.get("max_w")
        out = scene.compiled.node_of.get(f"{part.id}.49a")
        if not isinstance(least_w, float) or out is None:
            continue
        sides = {
            side: [lamp for lamp in lamps.of(*roles) if _fed_from(ways, lamp, out)] for side, roles in _TURN.items()
        }
        for side, lit in sides.items():
            of_car = [lamp for lamp in lit if scene.parts[lamp.part].kind != TRAILER]
            if of_car and _watts(of_car) < least_w:
                words = f"the turn lamps on the {side} are too few watts for it to flash"
                mend = "Fit an electronic flasher made for LED lamps, or a load resistor on each side"
                yield _off_its_watts(scene, part, of_car, least_w, words, mend)
            elif lit and isinstance(most_w, float) and _watts(lit) > most_w:
                words = f"the turn lamps on the {side} are more watts than it flashes at a fair rate"
                if len(of_car) < len(lit):
                    words += ", a trailer on"
                mend = "Fit a flasher made for that many lamps"
                yield _off_its_watts(scene, part, lit, most_w, words, mend)


def _watts(lamps: list[LoadElement]) -> float:
    return sum((lamp.rated_a or 0.0) * lamp.rated_v for lamp in lamps)


def _fed_from(ways: Ways, lamp: LoadElement, node: int) -> bool:
    return any(node in ways.region(end).nodes for end in (lamp.a, lamp.b))


def _off_its_watts(
    scene: Scene, part: Part, lit: list[LoadElement], allowed_w: float, wrong: str, mend: str
) -> Told:  # fmt: skip
    finding = Finding(
        rule="LMP-5",
        severity="warning",
        at=first_four((part.id, *(lamp.part for lamp in lit))),
        label=f"{part.id} ({scene.title(part.id)})",
        wrong=wrong,
        found=_watts(lit),
        allowed=allowed_w,
        unit="W",
        source="common-practice",
        mend=mend,
    )
    return Told(finding, None, None)
