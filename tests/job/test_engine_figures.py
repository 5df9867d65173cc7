"""What the sheet `vehicle` says of engine, regulator and gearbox is held against what may be when the job is read."""

from __future__ import annotations

import pytest

from loomwright.calibration.dwell import CHARGES
from loomwright.calibration.engine import ENGINE, WORDS
from loomwright.job.reading import job_from_text
from loomwright.refusals import BadDocument
from tests.pages.shelves import SMALL


def read(**values):
    rows = [{"name": name.replace("__", "."), "value": value} for name, value in values.items()]
    return job_from_text({**SMALL, "vehicle": rows})


def test_what_may_be_is_read():
    job = read(displacement_cc="1998", regulator="fixed", coil_ohm="0,5", gear__final_drive="3.9", gear__ratios="2.8 1")
    assert len(job.vehicle) == 5


@pytest.mark.parametrize(
    ("values", "allowed"),
    [
        ({"displacement_cc": "2"}, "50 to 20000"),
        ({"injector_kpa": "3"}, "50 to 1000"),
        ({"compression": "high"}, "5 to 20"),
        ({"regulator": "vacuum"}, "follows the manifold, fixed"),
        ({"coils": "three"}, "one a cylinder, one a pair, one for all"),
        ({"gear__final_drive": "39"}, "1.5 to 8"),
        ({"gear__mass_kg": "heavy"}, "400 to 7500"),
    ],
)
def test_what_cannot_be_is_told_with_its_mend(values, allowed):
    with pytest.raises(BadDocument) as told:
        read(**values)
    assert [one.allowed for one in told.value.problems] == [allowed]
    assert told.value.problems[0].mend


@pytest.mark.parametrize(
    ("name", "meant"),
    [("displacment_cc", "displacement_cc"), ("regulater", "regulator"), ("gear__finaldrive", "gear.final_drive")],
)
def test_a_name_nobody_knows_is_told_with_the_one_meant(name, meant):
    with pytest.raises(BadDocument) as told:
        read(**{name: "1"})
    assert told.value.problems[0].mend == f"Write {meant}"


def test_there_is_one_list_for_reading_and_for_working_out():
    assert tuple(CHARGES) == WORDS["coils"]
    assert all(usual is None or least <= usual <= most for least, most, usual in ENGINE.values())
