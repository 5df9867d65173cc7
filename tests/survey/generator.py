"""Old cars made up to try the survey on: what each wire truly is, and what a meter shows on it.

Shares no code with `loomwright.survey`: it knows the trade's table of what a function shows (the printed one, read
from its file as text) and has a loom, a fitter and a meter of its own. Colours lie, joints lose volts, meters are off
by a little, fuses are dead, the key is now and then not where it was said. One car in ten has no fault at all.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from random import Random

LOOKS = {
    "off": "key=off",
    "accessory": "key=accessory",
    "run": "key=run",
    "start": "key=start, selector=P",
    "start_in_gear": "key=start, selector=D",
    "side_lamps": "key=run, light=side",
    "head_lamps": "key=run, light=head",
    "turn": "key=run, turn=left",
    "brake": "key=run, brake=on",
    "reverse": "key=run, selector=R",
    "horn": "key=run, horn=on",
    "wiper": "key=run, wipe=slow",
    "heater": "key=run, heater=on",
    "lamp": "key=run",
    "seen": "key=run",
}
PALETTE = ["BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK"]


@dataclass
class TrueWire:
    """One wire as it is. dead: its fuse, bulb or earth is gone.   drop_v: lost in its joints. [V]"""

    id: str
    function: str
    colour: str
    dead: bool
    drop_v: float


@dataclass
class TrueCar:
    """One car. battery_v: at rest. [V]   is_sound: no fault, no lying colour, no wrong reading."""

    wires: list[TrueWire]
    battery_v: float
    is_sound: bool
    taken: list[dict[str, str]] = field(default_factory=list)


@cache
def printed() -> dict[str, dict[str, str]]:
    """The printed table, function -> its row, without the last one, which is none of them."""
    text = resources.files("loomwright").joinpath("tables", "old_wire_functions.csv").read_text(encoding="utf-8")
    rows = {row["function"]: row for row in csv.DictReader(text.splitlines())}
    del rows["none_of_these"]
    return rows


@cache
def habits() -> dict[str, dict[str, list[str]]]:
    """National habits of colours: convention -> function -> its colours."""
    text = resources.files("loomwright").joinpath("tables", "old_wire_colours.csv").read_text(encoding="utf-8")
    found: dict[str, dict[str, list[str]]] = {}
    for row in csv.DictReader(text.splitlines()):
        found.setdefault(row["convention"], {}).setdefault(row["function"], []).append(row["colour"])
    return found


def car(dice: Random, wires: int) -> TrueCar:
    """A made-up car with some of its wires at the place where they are cut."""
    sound = dice.random() < 0.1
    drawn: list[str] = []
    while len(drawn) < wires:
        name = dice.choices(list(printed()), [float(row["share"]) for row in printed().values()])[0]
        most = printed()[name]["most"]
        if not most or drawn.count(name) < int(most):
            drawn.append(name)
    colours = habits()[dice.choice(sorted(habits()))]
    made = []
    for number, name in enumerate(drawn, start=1):
        usual = colours.get(name, [dice.choice(PALETTE)])
        true = sound or dice.random() < 0.6
        colour = dice.choice(usual) if true else dice.choice(PALETTE)
        idle = name == "spare_or_dead"
        dead = not sound and not idle and dice.random() < 0.12
        made.append(TrueWire(f"T{number}", name, colour, dead, dice.uniform(0.0, 0.15)))
    return TrueCar(wires=made, battery_v=dice.gauss(12.4, 0.15), is_sound=sound)


def read(dice: Random, one: TrueCar, wire: TrueWire, look: str) -> list[dict[str, str]]:
    """What a fitter writes down, as rows of the sheet `readings`; kept with the car, too."""
    row = printed()[wire.function]
    state = "run" if look in ("lamp", "seen") else look
    if not one.is_sound and dice.random() < 0.03:
        state = dice.choice([other for other in ("off", "accessory", "run", "start") if other != state])
    shows = row[state]
    if wire.dead:
        shows = "floating"
    base = {"old_wire": wire.id, "when": LOOKS[look], "battery_v": f"{one.battery_v:.2f}"}
    if look == "lamp":
        told = _lamp(dice, one, row, shows, wire.dead, base)
    elif look == "seen":
        seen = row["seen"] if shows in ("live", "part") and not wire.dead else "nothing"
        if not one.is_sound and dice.random() < 0.08:
            seen = "nothing"
        told = [{**base, "measure": "lamp", "seen": seen}]
    else:
        told = [{**base, "measure": "volts", "unit": "V", "value": _volts(dice, one, wire, shows, state)}]
    one.taken.extend(told)
    return told


def _lamp(
    dice: Random, one: TrueCar, row: dict[str, str], shows: str, dead: bool, base: dict[str, str]
) -> list[dict[str, str]]:
    through = row["lamp"] if row["lamp"] in ("full", "dim") else "full"
    glow = {"live": through, "part": "dim", "floating": "dark", "earthed": "dark", "pulsing": "pulsing"}[shows]
    if not one.is_sound and dice.random() < 0.06:
        glow = dice.choice(["full", "dim", "dark"])
    rows = [{**base, "measure": "lamp", "value": glow}]
    if glow == "dark":
        rows.append({**base, "measure": "lamp", "to": "BAT.+", "value": "full" if shows == "earthed" else "dark"})
    return rows


def _volts(dice: Random, one: TrueCar, wire: TrueWire, shows: str, state: str) -> str:
    sag = dice.uniform(0.5, 2.5) if state.startswith("start") else 0.0
    live = one.battery_v - sag - wire.drop_v
    if not one.is_sound and dice.random() < 0.05:
        shows = dice.choice(["live", "floating", "part"])
    if shows == "pulsing":
        return "pulsing" if dice.random() < 0.9 else f"{dice.uniform(0.0, live):.2f}"
    volts = {
        "live": live,
        "part": dice.uniform(3.5, one.battery_v - 1.5),
        "floating": abs(dice.gauss(0.0, 0.05)) if dice.random() < 0.6 else dice.uniform(0.0, 2.5),
        "earthed": abs(dice.gauss(0.0, 0.04)),
    }[shows]
    return f"{max(0.0, volts * dice.gauss(1.0, 0.005) + dice.gauss(0.0, 0.02)):.2f}"
