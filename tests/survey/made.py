"""Made-up cars as jobs, and small jobs of one or two old wires."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from random import Random

from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from tests.survey.generator import LOOKS, TrueCar, car, read

BATTERY = [{"id": "BAT", "kind": "battery"}]


def job_of(one: TrueCar) -> Job:
    """The job that a fitter would have written on a made-up car."""
    wires = [{"id": wire.id, "colour": wire.colour} for wire in one.wires]
    return job_from_text({"parts": BATTERY, "old_wires": wires, "readings": one.taken})


def surveyed(seed: int, most_wires: int = 25) -> TrueCar:
    """A car with two to nine looks at each of its wires."""
    dice = Random(seed)
    one = car(dice, dice.randint(6, most_wires))
    for wire in one.wires:
        for look in dice.sample(list(LOOKS), dice.randint(2, 9)):
            read(dice, one, wire, look)
    return one


def old(readings: Sequence[Mapping[str, str]], wires: Sequence[Mapping[str, str]] | None = None, **vehicle: str) -> Job:
    """A job of readings; of one old wire `7` without a colour where no wires are given."""
    rows = [{"old_wire": "7", "measure": "volts", **reading} for reading in readings]
    return job_from_text(
        {
            "vehicle": [{"name": name, "value": value} for name, value in vehicle.items()],
            "parts": BATTERY,
            "old_wires": [{"id": "7"}] if wires is None else wires,
            "readings": rows,
        }
    )
