"""Jobs made for allocation: rows typed in a test, or controllers of any size with needs that are known to fit."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random
from typing import Any

from loomwright.job.job import Job
from loomwright.job.rows import ControllerPin, Need, Part, Place, Run

KINDS = {
    "injector": "injector",
    "ignition": "coil_with_igniter",
    "low_side": "solenoid",
    "pwm": "solenoid",
    "high_side": "lamp",
    "half_bridge": "solenoid",
    "analog_input": "sensor_0_5v",
    "temperature_input": "sensor_ntc",
    "switch_to_earth": "switch",
    "hall_input": "sensor_hall",
    "vr_input": "sensor_vr",
    "supply_5v": "sensor_0_5v",
    "frequency_input": "sensor_hall",
    "sensor_earth": "sensor_0_5v",
}
"""Ability -> a kind of part that asks for it."""

ENDS = {
    "coil_with_igniter": "signal",
    "sensor_0_5v": "signal",
    "sensor_ntc": "1",
    "sensor_hall": "signal",
    "sensor_vr": "+",
}

ABLE: tuple[tuple[str, tuple[str, ...], float | None], ...] = (
    ("injector", ("injector", "low_side"), 3.0),
    ("ignition", ("ignition",), 0.05),
    ("low_side", ("low_side",), 1.5),
    ("pwm", ("pwm", "low_side"), 3.0),
    ("high_side", ("high_side",), 3.0),
    ("half_bridge", ("half_bridge",), 5.0),
    ("analog_input", ("analog_input",), None),
    ("temperature_input", ("temperature_input", "analog_input"), None),
    ("switch_to_earth", ("switch_to_earth",), None),
    ("hall_input", ("hall_input", "frequency_input"), None),
    ("sensor_earth", ("sensor_earth",), None),
)


def small_job(needs: Sequence[dict[str, Any]], pins: Sequence[dict[str, Any]], **more: Any) -> Job:
    """A job of a controller and one part a need; a need's kind follows its ability unless `kind` is given."""
    rows, parts = [], [Part(id="ECU", kind="controller", place="cabin")]
    for each in needs:
        cells = dict(each)
        kind = cells.pop("kind", KINDS.get(cells.get("ability", ""), "resistor"))
        part = cells.setdefault("part", f"P_{cells['id']}")
        cells.setdefault("terminal", ENDS.get(kind, "2"))
        if part and part not in {row.id for row in parts}:
            parts.append(Part(id=part, kind=kind, place="bay"))
        rows.append(Need(**cells))
    made = tuple(ControllerPin(**{"part": "ECU", "terminal": each["id"], **each}) for each in pins)
    parts += more.pop("parts", [])
    places = (Place(id="cabin"), Place(id="bay"))
    runs = (Run(id="R1", from_="cabin", to="bay", length_mm=900.0),)
    whole: dict[str, Any] = {"places": places, "runs": runs, **more}
    return Job(parts=tuple(parts), needs=tuple(rows), controller_pins=made, **whole)


def sized_job(dice: Random, needs: int, pins: int, *, short: str = "", by: int = 0, room: float = 1.0) -> Job:
    """A job of two controllers whose needs are planted on its pins, so that they fit.

    Args:
        dice: throws everything.
        short: an ability of which more is asked than there is.
        by: how many more. [-]
        room: how much of what is planted on a bank it may carry; 1: no milliamp to spare. [-]
    """
    weights = (4, 2, 6, 3, 2, 2, 5, 3, 5, 3, 4)
    made = []
    for number in range(pins):
        _, abilities, most_a = dice.choices(ABLE, weights)[0]
        box = "ECU" if number % 3 else "BOX"
        bank = f"B{number % 4}" if "low_side" in abilities else ""
        cells: dict[str, Any] = {"id": f"A{number}", "part": box, "terminal": f"{number}", "abilities": abilities}
        made.append(ControllerPin(**cells, max_a=most_a, bank=bank))
    drawn = [1.0, 1.2, 0.9, 0.3]
    planted = dice.sample(made, needs)
    rows, load_a = [], {}
    for number, pin in enumerate(planted):
        ability = dice.choice(pin.abilities)
        amps = dice.choice(drawn) if pin.max_a and pin.max_a >= 1.5 else None
        wish = (dice.choice(made).id,) if dice.random() < 0.2 else ()
        option = f"o{number}/{'ab'[0]}" if number % 20 == 0 else ""
        row = Need(
            id=f"n{number}",
            part=f"P{number}",
            terminal=ENDS.get(KINDS[ability], "2"),
            ability=ability,
            rank=dice.randint(1, 3),
            load_a=amps,
            prefer=wish,
            option=option,
        )
        rows.append(row)
        if pin.bank:
            load_a[pin.part, pin.bank] = load_a.get((pin.part, pin.bank), 0.0) + (amps or 0.0)
        if option:
            rows += [
                Need(id=f"n{number}_{k}", part=f"P{number}", terminal="2", ability="half_bridge", rank=row.rank + 1,
                     option=f"o{number}/b") for k in range(2)
            ]  # fmt: skip
    together = [
        row.id for row, pin in zip([r for r in rows if "_" not in r.id], planted, strict=True) if pin.bank == "B1"
    ]
    rows = [
        row if row.id not in together[:2] else _with(row, together=tuple(one for one in together[:2] if one != row.id))
        for row in rows
    ]
    for number in range(by):
        rows.append(Need(id=f"x{number}", part=f"X{number}", terminal="2", ability=short, rank=3, load_a=0.3))
    banked = tuple(
        _with(pin, bank_max_a=max(room * load_a.get((pin.part, pin.bank), 0.0), 3.0)) if pin.bank else pin
        for pin in made
    )
    spots = ("nose", "left", "right", "firewall", "boot")
    places = tuple(Place(id=name) for name in (*spots, "cabin", "shelf"))
    runs = tuple(
        Run(id=f"R{k}", from_=one, to=other, length_mm=float(dice.randint(200, 900)))
        for k, (one, other) in enumerate(zip((*spots, "cabin"), (*spots[1:], "cabin", "shelf"), strict=True))
    )
    parts = [Part(id="ECU", kind="controller", place="cabin"), Part(id="BOX", kind="controller", place="nose")]
    seen = {row.part: row for row in rows}
    parts += [Part(id=name, kind=KINDS[row.ability], place=dice.choice(spots)) for name, row in seen.items()]
    return Job(places=places, runs=runs, parts=tuple(parts), needs=tuple(rows), controller_pins=banked)


def _with(row: Any, **cells: Any) -> Any:
    from dataclasses import replace

    return replace(row, **cells)
