"""What does a coil's peak reach when it is switched off? NET-8.

A coil whose current is cut sends a peak of many times the car's volts into what hangs on the end that was cut. Asked of
every end of a winding that no wire, joint or fuse ties to a post of the battery or to metal, and that no output of a
controller cuts (that has a clamp of its own): what wires, splices and connectors join to it holds electronics, an LED,
or a gauge that states the most its input stands.

- A relay or solenoid with nothing across it (its own suppression, another lamp or winding on the same net, or a diode
  of the job across the same two nets): a warning, of `coil_peak_v`.
- An ignition coil's low side: a fault, of `ignition_peak_v`, where the input states less.

A starter's solenoid and an injector need no suppression of their own. The figures are typical and stand in the
constants; how high a peak is hangs on the coil and on how fast it is cut.
"""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings import Finding
from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.tracing import Ways
from loomwright.states.rules.bridges import first_four
from loomwright.states.signals.earth_nets import pins_with, wired_nodes
from loomwright.tables.constants import constant
from loomwright.tables.kinds import resolve_settings

__all__ = ["peak_findings"]

_SPARKS = {"coil_plain": ("1",), "coil_twin": ("1a", "1b")}
_NEEDS_NONE = ("starter", "injector")
_PASSES_BOTH = ("lamp", "resistor", "motor")
_CUTS = ("low_side", "high_side", "pwm", "injector", "ignition", "main_relay", "half_bridge")


def peak_findings(scene: Scene, ways: Ways) -> Iterator[Told]:
    """Each end of a coil, with what its peak reaches."""
    cut_by_controller = set(pins_with(scene, *_CUTS))
    for part in scene.parts.values():
        if part.kind in _NEEDS_NONE or not any(one.params.get("inductive") for one in scene.kinds[part.kind].elements):
            continue
        sparks = _SPARKS.get(part.kind, ())
        for end, other in _coil_ends(scene, part.id):
            name = scene.name_of(end).partition(".")[2]
            if end in ways.plus or end in ways.minus or (sparks and name not in sparks):
                continue
            net, shared = wired_nodes(scene, (end,))
            if shared or net & (ways.plus | ways.minus):
                continue
            if not sparks and (
                cut_by_controller & {scene.name_of(node) for node in net} or _is_damped(scene, part.id, net, other)
            ):
                continue
            peak_v = constant("ignition_peak_v" if sparks else "coil_peak_v")
            for victim, allowed_v in _tender(scene, part.id, net):
                if allowed_v is None or allowed_v < peak_v:
                    yield Told(_told(scene, scene.name_of(end), victim, peak_v, allowed_v, bool(sparks)), None, None)


def _coil_ends(scene: Scene, part: str) -> Iterator[tuple[int, int]]:
    """The two ends of each winding, each with the other."""
    names = {one.name for one in scene.kind(part).elements if one.params.get("inductive") and one.type != "motor"}
    seen: set[int] = set()
    for index in scene.elements_of.get(part, ()):
        if scene.element(index).name.rpartition(".")[2] in names:
            a, b = scene.ends(index)
            for end, other in ((a, b), (b, a)):
                if end not in seen:
                    seen.add(end)
                    yield end, other


def _is_damped(scene: Scene, part: str, net: frozenset[int], other: int) -> bool:
    """Whether something takes the coil's current over: inside the part, another load on the net, a diode of the job."""
    if any("suppressor" in scene.element(index).name for index in scene.elements_of[part]):
        return True
    if any(net & set(scene.ends(index)) for index in _damping(scene, part)):
        return True
    far, shared = wired_nodes(scene, (other,))
    ends = (net, far | shared | {other})
    return any(
        element.type == "diode"
        and scene.parts[element.part].kind in ("diode", "suppressor")
        and any(a in one and b in two for one, two in (ends, ends[::-1]))
        for index, element in enumerate(scene.compiled.network.elements)
        if element.part in scene.parts
        for a, b in (scene.ends(index),)
    )


def _damping(scene: Scene, part: str) -> Iterator[int]:
    """Other loads that pass a current either way: lamps, heaters, motors, windings."""
    for index, element in enumerate(scene.compiled.network.elements):
        if element.load and element.part != part and not element.polar and element.type in _PASSES_BOTH:
            yield index


def _tender(scene: Scene, coil: str, net: frozenset[int]) -> Iterator[tuple[str, float | None]]:
    """Points in a net that a peak harms, and the most they stand where that is stated. [V]"""
    for node in sorted(net):
        point = scene.name_of(node)
        part = point.partition(".")[0]
        if part == coil or part not in scene.parts or "._" in point:
            continue
        kind, row = scene.kind(part), scene.parts[part]
        stands = resolve_settings(kind, row.settings).get("input_max_v")
        if isinstance(stands, float) and point.endswith(".signal"):
            yield point, stands
        # an igniter or a switch box is what cuts the coil, and is made for it
        elif kind.duty != "switch" and (
            kind.id.startswith("led") or any(one.params.get("electronic") for one in kind.elements)
        ):
            yield point, None


def _told(
    scene: Scene, end: str, victim: str, peak_v: float, allowed_v: float | None, spark: bool
) -> Finding:  # fmt: skip
    coil, part = end.partition(".")[0], victim.partition(".")[0]
    return Finding(
        rule="NET-8",
        severity="fault" if spark else "warning",
        at=first_four((victim, end)),
        touches=tuple(
            dict.fromkeys((part, coil, *(w.id for point in (victim, end) for w in scene.wires_at.get(point, ()))))
        ),
        label=f"{victim} ({scene.title(part)})",
        wrong=f"hangs on {end}, and gets the peak of {coil} each time its current is cut",
        found=peak_v,
        allowed=allowed_v,
        unit="V",
        source="common-practice",
        mend=f"Take it from an output made for it, or put a filter between {victim} and {end}"
        if spark
        else f"Put a diode or a resistor across {coil}, or feed {victim} by a wire of its own",
    )
