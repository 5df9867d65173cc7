"""One row of the mended van is changed: a new finding tells of it, or nothing the car does has changed.

Changes: a wire dropped, its ends swapped, one end moved to another terminal, copper to a third, a fuse times three.
Seeds are kept; two hundred in the long run. Half a dozen of `trials/one_row` are asked always.
"""

from __future__ import annotations

import random
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from loomwright.car import Car
from loomwright.examples.shelf import example_folder
from loomwright.findings import Finding
from loomwright.job.job import Job
from loomwright.job.rows import Wire
from loomwright.network.solve import solve_many
from loomwright.sheets.csv_folder import open_folder
from loomwright.states.asking.cones import cones_of
from loomwright.states.asking.plan import plan_states, space_of

CHANGES = ("drop", "swap", "move", "thin", "fuse")
ALWAYS = (0, 31, 62, 93, 124, 155)
SAMPLE = 600


@cache
def base() -> tuple[Car, frozenset[tuple[str, tuple[str, ...]]]]:
    car = Car(open_folder(example_folder("van")))
    return car, told(car)


def told(car: Car) -> frozenset[tuple[str, tuple[str, ...]]]:
    found: set[tuple[str, tuple[str, ...]]] = set()

    def walk(findings: tuple[Finding, ...]) -> None:
        for finding in findings:
            found.add((finding.rule, finding.at))
            walk(finding.folded)

    walk(car.check().findings)
    return frozenset(found)


def changed(job: Job, seed: int) -> tuple[str, Job]:
    dice = random.Random(seed)
    change = CHANGES[seed % len(CHANGES)]
    if change == "fuse":
        fuses = [part for part in job.parts if part.kind == "fuse" and "rating_a" in part.settings]
        fuse = dice.choice(fuses)
        settings = {**fuse.settings, "rating_a": f"{3 * float(fuse.settings['rating_a']):g}"}
        parts = tuple(replace(part, settings=settings) if part.id == fuse.id else part for part in job.parts)
        return f"{fuse.id} to {settings['rating_a']} A", replace(job, parts=parts)
    wire = dice.choice(job.wires)
    if change == "drop":
        return f"{wire.id} dropped", replace(job, wires=tuple(w for w in job.wires if w.id != wire.id))
    return _rewired(job, wire, change, dice)


def _rewired(job: Job, wire: Wire, change: str, dice: random.Random) -> tuple[str, Job]:
    if change == "swap":
        other = replace(wire, from_=wire.to, to=wire.from_)
    elif change == "thin":
        other = replace(wire, size_mm2=round((wire.size_mm2 or 1.0) / 3.0, 2))
    else:
        ends = sorted({end for w in job.wires if w.circuit == wire.circuit for end in (w.from_, w.to)} - {wire.to})
        other = replace(wire, to=dice.choice(ends))
    wires = tuple(other if w.id == wire.id else w for w in job.wires)
    return f"{wire.id} {change}: {other.from_} to {other.to}, {other.size_mm2} mm2", replace(job, wires=wires)


def does(car: Car) -> np.ndarray:
    """What every load does in a sample of the states: works or not, and the wrong way round or not."""
    compiled = base()[0].compiled
    space = space_of(compiled)
    states = plan_states(space, cones_of(compiled).terms_of_device.values())
    states = states[:: max(1, len(states) // SAMPLE)]
    batch = solve_many(car.compiled, states)
    columns = []
    for name in sorted({e.name for e in compiled.network.elements if e.load and e.rated_a}):
        where = car.compiled.elements_of.get(name, ())
        rated_a = next(e.rated_a for e in compiled.network.elements if e.name == name)
        amps = sum((batch.amps[:, k] for k in where), np.zeros(len(states)))
        columns.append(np.sign(amps) * (np.abs(amps) >= 0.5 * (rated_a or 1.0)))
    return np.array(columns)


def judge(seed: int) -> None:
    car, before = base()
    what, job = changed(car.job, seed)
    other = Car(job)
    if np.array_equal(does(car), does(other)):
        return
    assert told(other) - before, f"seed {seed}: {what} changes what the car does, and nothing is told"


@pytest.mark.long
@pytest.mark.parametrize("seed", ALWAYS)
def test_changed_row_is_told_or_changes_nothing(seed: int) -> None:
    judge(seed)


@pytest.mark.long
@pytest.mark.parametrize("seed", [seed for seed in range(200) if seed not in ALWAYS])
def test_two_hundred_changed_rows(seed: int) -> None:
    judge(seed)
