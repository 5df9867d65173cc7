"""Small random cars on ordinary sheets in which what came before, and which relay is first, decides.

Battery and perhaps a second one, alternator with its warning lamp, key, fuses, joints, straps, lamps and motors behind
switches and relays. Some have a relay that holds itself, a pair of relays that lock each other out, a diode between two
supplies, two sources joined, a controller that drives a relay, a starter; some have lost a wire. A generator is passed
in, so that a seed gives the same car on any machine.

`FEATURES` are what a car may have; `features_of` reads off the sheets which of them it has.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence

Row = dict[str, str]
Sheets = dict[str, list[Row]]

FEATURES = ("holds itself", "order decides", "diode between supplies", "sources that fight", "controller", "alternator")


class _Car:
    """Rows as they are laid down."""

    def __init__(self, dice: random.Random) -> None:
        self.dice = dice
        self.parts: list[Row] = []
        self.wires: list[Row] = []
        self.others: Sheets = {}
        self.joint = 0

    def part(self, id: str, kind: str, **more: str) -> str:
        self.parts.append({"id": id, "kind": kind, **more})
        return id

    def wire(self, from_: str, to: str, size_mm2: str = "1.5", length_mm: str = "1500") -> None:
        self.wires.append(
            {"id": f"W{len(self.wires) + 1}", "from": from_, "to": to, "size_mm2": size_mm2, "length_mm": length_mm}
        )

    def earth(self) -> str:
        """The metal, or the joint of earths that shares one wire to it."""
        self.joint += 1
        return self.dice.choice(("body", "body", "engine", f"EA.{self.joint + 1}"))

    def live(self) -> str:
        """A way on the bar that is always fed, or a contact of the key."""
        self.joint += 1
        ways = [f"SPA.{self.joint + 1}"] * 2
        if any(part["id"] == "KEY" for part in self.parts):
            ways += ["KEY.15", "KEY.75"]
        return self.dice.choice(ways)

    def load(self, id: str, at: str) -> None:
        """A lamp or a motor from a point to some earth."""
        if self.dice.random() < 0.7:
            self.part(id, "lamp", settings=f"watt={self.dice.choice((2, 5, 21, 55))}")
            plus, minus = "1", "2"
        else:
            self.part(id, "fan", settings="running_a=6; inrush_a=20")
            plus, minus = "+", "-"
        self.wire(at, f"{id}.{plus}")
        self.wire(f"{id}.{minus}", self.earth())


def random_car(dice: random.Random) -> Sheets:
    """Sheets of a small random car."""
    car = _Car(dice)
    _supply(car)
    _switched_load(car, 0)
    extras = [_holds_itself, _pair, _between_supplies, _second_battery, _controller]
    chosen = dice.sample(extras, dice.choice((1, 1, 2)))
    for extra in chosen:
        extra(car)
    if len(chosen) < 2 and dice.random() < 0.6:
        _switched_load(car, 1)
    for _ in range(dice.choice((0, 0, 0, 1, 1))):
        car.wires.pop(dice.randrange(3, len(car.wires)))
    vehicle: list[Row] = [{"name": "title", "value": "random car"}]
    if dice.random() < 0.7:
        vehicle.append({"name": "cranking_ambient_c", "value": "40"})
    return {"vehicle": vehicle, "parts": car.parts, "wires": car.wires, **car.others}


def features_of(sheets: Mapping[str, Sequence[Row]]) -> set[str]:
    """Which of `FEATURES` a car has, told by the parts laid down for each."""
    parts = {row["id"] for row in sheets["parts"]}
    marks = {
        "holds itself": "KH",
        "order decides": "KA",
        "diode between supplies": "DX",
        "sources that fight": "BT2",
        "controller": "ECU",
        "alternator": "ALT",
    }
    return {feature for feature, part in marks.items() if part in parts}


def _supply(car: _Car) -> None:
    car.part("BAT", "battery")
    car.part("FA", "fuse", settings="rating_a=30")
    car.part("SPA", "splice")
    car.part("EA", "splice")
    car.wire("BAT.-", "body", "16", "500")
    car.wire("BAT.+", "FA.1", "4", "300")
    car.wire("FA.2", "SPA.1", "4", "300")
    car.wire("body", "engine", "16", "500")
    car.wire("EA.1", "body", "4")
    if car.dice.random() < 0.6:
        car.part("KEY", "key_switch")
        car.wire("SPA.90", "KEY.30", "4")
    if car.dice.random() < 0.4:
        car.part("ALT", "alternator", settings="max_a=45; idle_output_a=25")
        car.part("CHG", "lamp", role="charge_lamp", settings="watt=2.2")
        car.wire("ALT.B+", "BAT.+", "10")
        car.wire("KEY.15" if any(part["id"] == "KEY" for part in car.parts) else "SPA.91", "CHG.1")
        car.wire("CHG.2", "ALT.D+")


def _switched_load(car: _Car, number: int) -> None:
    """A switch, perhaps a relay, and a load or two."""
    switch = car.part(f"SW{number}", "switch")
    car.wire(car.live(), f"{switch}.1")
    at = f"{switch}.2"
    if car.dice.random() < 0.5:
        relay = car.part(f"K{number}", "relay")
        car.wire(at, f"{relay}.86")
        car.wire(f"{relay}.85", car.earth())
        car.wire(car.live(), f"{relay}.30")
        at = f"{relay}.{car.dice.choice(('87', '87', '87a'))}"
    for count in range(car.dice.randint(1, 2)):
        car.load(f"L{number}{count}", at)


def _holds_itself(car: _Car) -> None:
    """A push button pulls a relay in, its own contact keeps it fed; some with a stop switch, some through a diode."""
    car.part("SWH", "switch")
    car.part("KH", "relay")
    feed = car.live()
    car.wire(feed, "SWH.1")
    car.wire("SWH.2", "KH.86")
    car.wire("KH.85", car.earth())
    back = "KH.87"
    if car.dice.random() < 0.5:
        car.part("SWX", "switch")
        car.wire(feed, "SWX.1")
        car.wire("SWX.2", "KH.30")
    else:
        car.wire(feed, "KH.30")
    if car.dice.random() < 0.3:
        car.part("DH", "diode")
        car.wire("KH.87", "DH.a")
        back = "DH.k"
    car.wire(back, "KH.86")
    car.load("LH", "KH.87")


def _pair(car: _Car) -> None:
    """Two relays, each fed through the other's resting contact: the one that is first keeps the other out."""
    one = car.dice.random() < 0.5
    car.part("SWP", "switch")
    car.part("KA", "relay")
    car.part("KB", "relay")
    feed = car.live()
    car.wire(feed, "SWP.1")
    second = "SWP.2"
    if not one:
        car.part("SWQ", "switch")
        car.wire(feed, "SWQ.1")
        second = "SWQ.2"
    car.wire("SWP.2", "KB.30")
    car.wire("KB.87a", "KA.86")
    car.wire("KA.85", car.earth())
    car.wire(second, "KA.30")
    car.wire("KA.87a", "KB.86")
    car.wire("KB.85", car.earth())
    for relay in ("KA", "KB"):
        if relay == "KA" or car.dice.random() < 0.7:
            car.load(f"L{relay}", f"{relay}.87")


def _between_supplies(car: _Car) -> None:
    """A diode, or two, from one supply to another."""
    ends = ["SPA.80", "SPX.1"]
    car.part("SPX", "splice")
    car.part("FX", "fuse", settings="rating_a=20")
    car.wire(car.dice.choice(("BAT.+", car.live())), "FX.1", "2.5", "300")
    car.part("SWF", "switch")
    car.wire("FX.2", "SWF.1", "2.5")
    car.wire("SWF.2", "SPX.2", "2.5")
    if car.dice.random() < 0.5:
        ends.reverse()
    car.part("DX", "diode")
    car.wire(ends[0], "DX.a", "2.5")
    car.wire("DX.k", ends[1], "2.5")
    car.load("LX", "SPX.3")


def _second_battery(car: _Car) -> None:
    """A second battery, joined through a switch or a relay, that may feed what the first one does."""
    car.part("BT2", "battery", settings="emf_v=12.2")
    car.part("SWB", "switch")
    car.wire("BT2.-", car.dice.choice(("body", "engine")), "16", "500")
    car.wire("BT2.+", "SWB.1", "6")
    car.wire("SWB.2", car.dice.choice(("SPA.70", "BAT.+")), "6")
    car.load("LB", car.dice.choice(("BT2.+", "SWB.2")))


def _controller(car: _Car) -> None:
    """A controller that drives a relay's coil or a lamp to earth while something holds."""
    car.part("ECU", "controller", settings="draw_a=0.3; minimum_v=7; reset_v=5.5; ride_through_ms=5")
    car.wire(car.live(), "ECU.1")
    car.wire("ECU.2", car.earth())
    car.part("KC", "relay")
    car.wire(car.live(), "KC.86")
    car.wire("KC.85", "ECU.3")
    car.wire(car.live(), "KC.30")
    car.load("LC", "KC.87")
    car.others["controller_pins"] = [
        {"id": "A1", "part": "ECU", "terminal": "1", "abilities": "supply"},
        {"id": "A2", "part": "ECU", "terminal": "2", "abilities": "power_earth"},
        {"id": "A3", "part": "ECU", "terminal": "3", "abilities": "low_side", "max_a": "1.5"},
    ]
    when = car.dice.choice(("engine=idle|running", "SW0=on", "SW0=off"))
    car.others["drives"] = [{"output": "A3", "when": when}]
