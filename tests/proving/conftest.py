"""The small car of these tests, worked out once."""

from __future__ import annotations

import pytest

from loomwright.brief.brief import briefed
from loomwright.car import Car
from loomwright.handover.proof_plan import Planned, plan_of


@pytest.fixture(scope="session")
def car() -> Car:
    """A small car from a brief, everything decided."""
    return Car(briefed({"cylinders": "1", "gearbox": "shifted by hand"}).job).worked_out()


@pytest.fixture(scope="session")
def planned(car: Car) -> Planned:
    """Its test plan."""
    return plan_of(car.scene)
