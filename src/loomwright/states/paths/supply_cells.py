"""Which cells feed the car: those of one battery, or of several in series?

Batteries beside the first, with an earthed post of their own, are no part of the string. Where all amps out of
batteries are added up they count as well, a string once.
"""

from __future__ import annotations

from loomwright.network.battery_string import battery_string
from loomwright.network.records import Law
from loomwright.states.asking.scene import Scene

__all__ = ["cells_once", "live_post_of", "string_cells"]


def string_cells(scene: Scene) -> tuple[int, ...]:
    """The cells in series that feed the car, the earthed battery first; none where it has none."""
    return tuple(k for part in _string(scene) for k in _cells(scene, part))


def cells_once(scene: Scene) -> tuple[int, ...]:
    """Cells whose amps together are what all batteries give: of those in series only the first."""
    beside = _string(scene)[1:]
    batteries = {element.part for element in scene.compiled.network.elements if element.law == Law.BATTERY}
    return tuple(k for part in scene.parts if part in batteries and part not in beside for k in _cells(scene, part))


def live_post_of(scene: Scene) -> int:
    """The node of the string's unearthed post, -1 where there is no battery."""
    cells = string_cells(scene)
    if not cells:
        return -1
    a, b = scene.ends(cells[-1])
    return b if scene.vehicle.earth == "positive" else a


def _string(scene: Scene) -> tuple[str, ...]:
    return battery_string(scene.job, tuple(scene.parts.values()))


def _cells(scene: Scene, part: str) -> tuple[int, ...]:
    return tuple(k for k in scene.elements_of.get(part, ()) if scene.element(k).law == Law.BATTERY)
