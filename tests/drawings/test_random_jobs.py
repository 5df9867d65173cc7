"""What must hold for any job's drawings, asked of random ones: every wire once, nothing on anything."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import pytest

from loomwright.drawings.circuit_drawing import circuit_drawings, laid_circuits
from loomwright.drawings.symbols.items import Text, WireStroke
from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from loomwright.sheets.csv_folder import open_folder
from loomwright.tables.kinds import load_kinds
from tests.drawings.overlaps import (
    loose_ends,
    outside,
    texts_on_strokes,
    texts_on_texts,
    wires_on_wires,
    wires_through_symbols,
)
from tests.states.random_jobs import random_sheets

KINDS = load_kinds()
EXAMPLES = Path(__file__).parents[2] / "src" / "loomwright" / "examples"
NAMES = ("", "a rather long name of a part, left", "Ölgeber vorn", "x" * 40)


def faults(job: Job) -> list[str]:
    """All that is wrong with a job's drawings."""
    drawings = circuit_drawings(laid_circuits(job, KINDS))
    found = []
    drawn = sorted((d.id, item.about) for d in drawings for item in d.items if isinstance(item, WireStroke))
    if drawn != sorted((wire.circuit or "no_circuit", wire.id) for wire in job.wires):
        found.append("wires lost or drawn twice")
    for d in drawings:
        for look in (texts_on_texts, texts_on_strokes, wires_through_symbols, wires_on_wires, outside, loose_ends):
            found.extend(f"{d.id} {d.sheet}: {fault}" for fault in look(d))
        found.extend(f"{d.id}: {item.text}" for item in d.items if isinstance(item, Text) and "?" in item.text)
        if (d.width_mm, d.height_mm) not in {(210.0, 297.0), (297.0, 210.0)}:
            found.append(f"{d.id} is {d.width_mm} x {d.height_mm}")
    return found


def dealt_anew(dice: random.Random, job: Job) -> Job:
    """The job with its wires dealt to circuits at random, some taken out: every way leads through other drawings."""
    circuits = [row.id for row in job.circuits][: dice.randint(2, 12)]
    return replace(
        job,
        wires=tuple(replace(wire, circuit=dice.choice(circuits)) for wire in job.wires if dice.random() > 0.1),
        circuits=tuple(row for row in job.circuits if row.id in circuits),
        parts=tuple(replace(part, circuit=part.circuit if part.circuit in circuits else "") for part in job.parts),
    )


def any_kinds(dice: random.Random) -> Job:
    """Parts of any kinds, wired at random, some wires with a free end."""
    parts = [{"id": "B", "kind": "battery"}]
    points = ["B.+", "B.-", "body", "engine"]
    kinds = [kind for kind in KINDS.values() if kind.id not in ("controller", "switch_matrix", "battery")]
    for number in range(dice.randint(3, 14)):
        kind = dice.choice(kinds)
        parts.append({"id": f"X{number}", "kind": kind.id, "name": dice.choice(NAMES)})
        names = [terminal.name for terminal in kind.terminals if not terminal.name.startswith("*")]
        names = names or (["1p", "1s", "2p"] if kind.id == "inline_connector" else ["1", "2", "3", "4"])
        points += [f"X{number}.{name}" for name in names]
    circuits = ["", "alpha", "beta", "gamma"][: dice.randint(1, 4)]
    wires = [
        {
            "id": f"W{number}",
            "from": dice.choice(points),
            "to": dice.choice(points) if dice.random() > 0.04 else "",
            "circuit": dice.choice(circuits),
            "size_mm2": dice.choice(["", "0.5", "2.5"]),
            "colour": dice.choice(["", "BK", "WH/RD"]),
        }
        for number in range(dice.randint(3, 25))
    ]
    rows = [{"id": circuit} for circuit in circuits if circuit]
    return job_from_text({"parts": parts, "wires": wires, "circuits": rows})


@pytest.mark.parametrize("seed", range(4))
def test_random_cars_draw_cleanly(seed):
    assert faults(job_from_text(random_sheets(random.Random(seed)))) == []


@pytest.mark.parametrize("seed", [0, 2, 3, 5, 7, 11])
def test_any_kinds_wired_anyhow_draw_cleanly(seed):
    assert faults(any_kinds(random.Random(seed))) == []


@pytest.mark.parametrize(
    ("seed", "name"), [pytest.param(0, "van/mended", marks=pytest.mark.long), (1, "sound/tourer"), (2, "sound/wagon")]
)
def test_wires_dealt_to_other_circuits_draw_cleanly(seed, name):
    assert faults(dealt_anew(random.Random(seed), open_folder(EXAMPLES / name))) == []


def test_a_whole_car_without_a_single_circuit_draws_cleanly():
    job = open_folder(EXAMPLES / "sound" / "tourer")
    bare = replace(
        job,
        circuits=(),
        wires=tuple(replace(wire, circuit="") for wire in job.wires),
        parts=tuple(replace(part, circuit="") for part in job.parts),
    )
    assert faults(bare) == []


@pytest.mark.long
@pytest.mark.parametrize("seed", range(120))
def test_many_more_draw_cleanly(seed):
    assert faults(any_kinds(random.Random(seed))) == []
    assert faults(job_from_text(random_sheets(random.Random(seed)))) == []
