"""The idle valve of a brief hangs behind a fuse of its own kind of load, not on the bar of the main relay."""

from __future__ import annotations

import pytest

from loomwright.brief.brief import briefed


@pytest.mark.parametrize("valve", ["valve, two wires", "valve, three wires"])
@pytest.mark.parametrize(
    ("injection", "fuse"), [("one injector a cylinder", "FINJ"), ("not by the controller", "FIDLE")]
)
def test_an_idle_valve_is_fed_past_a_blade_fuse(valve, injection, fuse):
    job = briefed({"idle": valve, "injection": injection}).job
    ends = [(wire.from_, wire.to) for wire in job.wires]
    fed = next(one for one, other in ends if other in ("IDLE.1", "IDLE.c"))
    assert fed.split(".")[0] == "SPI"
    assert (f"{fuse}.2", "SPI.1") in ends
    assert any(one.startswith("BUSM.") and other == f"{fuse}.1" for one, other in ends)
