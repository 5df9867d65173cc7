"""What does the fault finder take over of a test that failed?

What was read, with the car as it stood for the test: the controllers unplugged, the starter's small lead off, the
battery off for ohms. A test in which a cavity was led to the body by hand, or a lamp stood in place of a fuse, puts the
car as the fault finder does not know it: its reading is not taken over.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loomwright.job.rows import Proof
from loomwright.proving.fitting import UNIT_OF
from loomwright.proving.plan import PlannedTest
from loomwright.states.asking.scene import Scene

__all__ = ["off_of", "reading_of"]

_MEASURES = ("volts", "ohms")


def off_of(scene: Scene, unplugged: Sequence[str]) -> tuple[str, ...]:
    """What is off for a test, as `put_off` names it: parts by their id, a wire with the terminal it is off at.

    Args:
        unplugged: parts by id, terminals whose wires are off.
    """
    wires = ((wire.id, name) for name in unplugged if "." in name for wire in scene.wires_at.get(name, ()))
    return (*(name for name in unplugged if "." not in name), *(f"{wire}:{name}" for wire, name in wires))


def reading_of(test: PlannedTest, row: Proof) -> Mapping[str, str]:
    """The cells of a row of `readings`; none where the fault finder cannot take it over.

    Args:
        test: as it is planned.
        row: what was read at it.
    """
    if test.off is None or test.measure not in _MEASURES or row.value in (None, ""):
        return {}
    value = row.value if isinstance(row.value, str) else f"{row.value:.6g}"
    cells = {"point": row.point, "to": row.to, "off": " ".join(test.off), "when": row.when.text}
    cells |= {"measure": test.measure, "value": value, "unit": UNIT_OF[test.measure], "instrument": row.instrument}
    return {name: text for name, text in cells.items() if text}
