"""Do fuses, outputs of controllers, limited supplies and connector ways stay within their ratings?

Fuses and breakers: heating amps by their rating, and whether they blow; while the starter is fed, by the largest gate
that lets the current pass for as long as cranking is judged. Outputs: amps while on by the pin's `max_a`; a bank of
outputs by the sum of their means. Supplies with a limit (5 V for sensors, a converter, an end of the old car): by that
limit, which the network holds them to. Ways of connectors between looms, and busbars: where a rating is given.
Resistors: by the watts that their row says.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from loomwright.job.rows import ControllerPin
from loomwright.network.records import Changes, Element, Law, Short
from loomwright.refusals import OutOfReach
from loomwright.states.asking.answers import Answers, type_float
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.surroundings import around, element_label, pin_rows, wires_round
from loomwright.states.ratings.rating_ground import FED_A, Drawn, Heated, RatingGround, over, rating_source
from loomwright.tables.constants import constant
from loomwright.tables.fuses import family_named
from loomwright.tables.kinds import elements_of, resolve_settings

__all__ = [
    "bank_ratings",
    "fuse_ratings",
    "joint_ratings",
    "output_ratings",
    "resistor_ratings",
    "supply_ratings",
]


_LINK_OHM = 0.005
"""About what a fuse and its clips have [ohm]."""


def fuse_ratings(ground: RatingGround) -> Iterator[Watch]:
    """Every fuse and breaker: what flows through it for ever, and whether it blows."""
    for index, element in enumerate(ground.scene.compiled.network.elements):
        if element.type in ("fuse", "breaker") and element.rating_a is not None:
            yield _fuse(ground, index, element, element.rating_a)


def _fuse(ground: RatingGround, index: int, element: Element, rating_a: float) -> Watch:
    device = ground.scene.compiled.device_of.get(element.name, -1)
    # what flowed before it opened is not kept: it was at least this
    at_least_a = constant("blown_factor") * rating_a
    passing_a = rating_a * _passing_factor(ground.scene, element.part, rating_a)

    heated = Heated(ground.heating, index)

    def amps(answers: Answers) -> type_float:
        flowing = heated.amps(answers)
        return np.where(answers.on(device), at_least_a, flowing) if device >= 0 else flowing

    def limit(answers: Answers) -> type_float:
        starting = (ground.starter_amps(answers) > FED_A) | ground.pulling_in(answers)
        return np.where(starting, passing_a, rating_a)

    def most(answers: Answers) -> float:
        blown = device >= 0 and bool(answers.on(device).any())
        return max(at_least_a if blown else 0.0, heated.most(answers))

    def words(found: float) -> str:
        if found >= at_least_a:
            return "carries so much that it opens, and what hangs on it is dead"
        if element.type == "breaker":
            return "carries more than its rating and opens by and by"
        will_open = found >= constant("overload_factor") * rating_a
        return f"carries more than its rating and {'will not stay whole' if will_open else 'ages until it opens'}"

    watch = over(
        at=(element.part,),
        touches=around(ground.scene, index),
        label=element_label(ground.scene, element),
        wrong="carries more than its rating",
        mend="Share its loads between two fuses, or find what draws so much; a larger fuse only with a thicker wire",
        allowed_a=rating_a,
        amps=amps,
        limit=limit,
        most=most,
        least_a=min(passing_a, rating_a),
    )
    # one that has opened is the root of what is dead behind it: asked with a link across it
    ends = [ground.scene.name_of(node) for node in ground.scene.ends(index)]
    held = Changes(shorts=(Short(ends[0], ends[1], _LINK_OHM),))
    return replace(watch, wrong_of=words, trial=held, root=True, root_from=at_least_a)


def _passing_factor(scene: Scene, part: str, rating_a: float) -> float:
    """Times its rating that a fuse lets pass for as long as cranking is judged, by its family's gates. [-]"""
    settings = resolve_settings(scene.kind(part), scene.parts[part].settings)
    try:
        gates = family_named(str(settings.get("family", ""))).gates_for(rating_a)
    except OutOfReach:
        return 1.0
    return max((gate.multiple for gate in gates if gate.min_s >= constant("cranking_s")), default=1.0)


def output_ratings(ground: RatingGround) -> Iterator[Watch]:
    """Every output of a controller, by the most its pin may carry."""
    for index, element in _outputs(ground.scene):
        if element.rating_a is not None:
            yield _output(ground.scene, index, element, element.rating_a)


def _output(scene: Scene, index: int, element: Element, rating_a: float) -> Watch:
    point = element.name.removesuffix(".drive")

    drawn = Drawn(index)
    return over(
        at=(point,),
        touches=(element.part, *pin_rows(scene, point), *around(scene, index)),
        label=f"{point} (output of {scene.title(element.part)})",
        wrong="the output carries more than it is made for",
        mend="Let the output work a relay, or move the load to a stronger output",
        allowed_a=rating_a,
        amps=drawn.amps,
        most=drawn.most,
    )


def bank_ratings(ground: RatingGround) -> Iterator[Watch]:
    """Every bank of outputs that has a limit of its own."""
    rows = [pin for pin in ground.scene.job.controller_pins if pin.bank and pin.bank_max_a is not None]
    for part, bank in sorted({(pin.part, pin.bank) for pin in rows}):
        pins = tuple(pin for pin in ground.scene.job.controller_pins if (pin.part, pin.bank) == (part, bank))
        yield _bank(ground.scene, pins, min(pin.bank_max_a for pin in pins if pin.bank_max_a is not None))


def _bank(scene: Scene, pins: tuple[ControllerPin, ...], limit_a: float) -> Watch:
    names = {f"{pin.part}.{pin.terminal}.drive" for pin in pins}
    mine = [(index, element.duty_frac) for index, element in _outputs(scene) if element.name in names]
    part, bank = pins[0].part, pins[0].bank

    def amps(answers: Answers) -> type_float:
        return sum((np.abs(answers.amps(k)) * duty for k, duty in mine), np.zeros(answers.count))

    return over(
        at=(part,),
        touches=tuple(pin.id for pin in pins),
        label=f"{part} ({scene.title(part)}, outputs of bank {bank})",
        wrong="the outputs of the bank together carry more than it is made for",
        mend="Move a load to an output of another bank, or to a relay",
        allowed_a=limit_a,
        amps=amps,
    )


def supply_ratings(ground: RatingGround) -> Iterator[Watch]:
    """Every supply that can give only so much."""
    for index, element in enumerate(ground.scene.compiled.network.elements):
        sensors = element.type == "pin" and element.name.endswith(".supply")
        if element.law == Law.CLAMP and (sensors or element.type == "source"):
            point = element.name.removesuffix(".supply") if sensors else element.part
            yield _supply(ground.scene, index, element, point)


def _supply(scene: Scene, index: int, element: Element, point: str) -> Watch:
    drawn = Drawn(index)
    return over(
        at=(point,),
        touches=(element.part, *pin_rows(scene, point), *around(scene, index)),
        label=f"{point} ({scene.title(element.part)})",
        wrong="more is drawn from it than it can give",
        mend="Take a load off it, or find what draws so much behind it",
        allowed_a=max(abs(element.figures[0][2]), abs(element.figures[0][3])),
        amps=drawn.amps,
        most=drawn.most,
    )


def joint_ratings(ground: RatingGround) -> Iterator[Watch]:
    """Ways of connectors between looms, and busbars, where the sheets give a rating."""
    scene = ground.scene
    for part in scene.parts.values():
        kind = scene.kinds[part.kind]
        if kind.duty != "join":
            continue
        settings = resolve_settings(kind, part.settings, part.rated_v or scene.vehicle.system_v)
        ratings = (element.params.get("rating_a") for element in elements_of(kind, settings))
        rating_a = next((figure for figure in ratings if isinstance(figure, float)), None)
        joints = tuple(k for k in scene.elements_of.get(part.id, ()) if scene.element(k).type == "joint")
        if rating_a is not None and joints:
            yield _joint(scene, part.id, joints, rating_a, together=kind.elements[0].type == "joined")


def resistor_ratings(ground: RatingGround) -> Iterator[Watch]:
    """Resistors of which the sheet says how many watts they stand: the amps that make those."""
    scene = ground.scene
    for index, element in enumerate(scene.compiled.network.elements):
        part = scene.parts.get(element.part)
        if element.type != "resistor" or part is None or scene.kind(part.id).duty != "passive":
            continue
        watt = resolve_settings(scene.kind(part.id), part.settings).get("watt")
        if "watt" in part.settings and isinstance(watt, float):
            ohm = 1.0 / max(row[0] for row in element.figures)
            yield _resistor(ground, index, element, (watt / ohm) ** 0.5)


def _resistor(ground: RatingGround, index: int, element: Element, limit_a: float) -> Watch:
    heated = Heated(ground.heating, index)
    return over(
        at=(element.part,),
        touches=around(ground.scene, index),
        label=element_label(ground.scene, element),
        wrong="gets hotter than the watts it is made for",
        mend="Fit one for that power where air passes it and nothing near it burns",
        allowed_a=limit_a,
        amps=heated.amps,
        most=heated.most,
    )


def _joint(scene: Scene, part: str, joints: tuple[int, ...], rating_a: float, *, together: bool) -> Watch:
    def amps(answers: Answers) -> type_float:
        each: type_float = np.abs(np.stack([answers.amps(k) for k in joints]))
        # what goes into a busbar comes out again: half the sum over all its wires
        whole: type_float = each.sum(axis=0) / 2.0 if together else each.max(axis=0)
        return whole

    return over(
        at=(part,),
        touches=tuple(name for k in joints for name in wires_round(scene, scene.ends(k))),
        label=f"{part} ({scene.title(part)})",
        wrong="carries more than it is made for",
        mend="Share the current between two ways, or fit one made for it",
        allowed_a=rating_a,
        amps=amps,
        source=rating_source(scene, part),
    )


def _outputs(scene: Scene) -> Iterator[tuple[int, Element]]:
    for index, element in enumerate(scene.compiled.network.elements):
        if element.type == "pin" and element.name.endswith(".drive"):
            yield index, element
