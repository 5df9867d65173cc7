"""Small random cars, some of them wrong: lamps, relays and motors behind switches, shared earths, lost wires, diodes.

A generator is passed in, so that a seed gives the same car on any machine.
"""

from __future__ import annotations

import random

Row = dict[str, str]


def random_sheets(dice: random.Random) -> dict[str, list[Row]]:
    """Sheets of a small car: three to five circuits, each behind a switch or the key, some through relays."""
    parts: list[Row] = [
        {"id": "BAT", "kind": "battery"},
        {"id": "KEY", "kind": "key_switch"},
        {"id": "FA", "kind": "fuse", "settings": "rating_a=30"},
        {"id": "FB", "kind": "fuse", "settings": "rating_a=30"},
        {"id": "SPA", "kind": "splice"},
        {"id": "EA", "kind": "splice"},
    ]
    wires = _Wires()
    wires.add("BAT.-", "body", "16")
    wires.add("BAT.+", "FA.1", "4")
    wires.add("BAT.+", "FB.1", "4")
    wires.add("FA.2", "SPA.1", "4")
    wires.add("FB.2", "KEY.30", "4")
    wires.add("EA.1", "body", "4")
    for number in range(dice.randint(3, 5)):
        _circuit(number, dice, parts, wires)
    if dice.random() < 0.4:
        parts.append({"id": "DX", "kind": "diode"})
        ends = dice.sample(["SPA.90", "KEY.15", "KEY.75"], 2)
        wires.add(ends[0], "DX.a", "1.5")
        wires.add("DX.k", ends[1], "1.5")
    rows = wires.rows
    for _ in range(dice.choice((0, 0, 1, 1, 2))):
        rows.pop(dice.randrange(5, len(rows)))
    return {"vehicle": [{"name": "title", "value": "random car"}], "parts": parts, "wires": rows}


class _Wires:
    def __init__(self) -> None:
        self.rows: list[Row] = []

    def add(self, from_: str, to: str, size_mm2: str = "1.5") -> None:
        self.rows.append(
            {
                "id": f"W{len(self.rows) + 1}",
                "from": from_,
                "to": to,
                "size_mm2": size_mm2,
                "length_mm": "1500",
            }
        )


def _circuit(number: int, dice: random.Random, parts: list[Row], wires: _Wires) -> None:
    """A switch, a load or two, perhaps a relay between, and an earth of its own or a shared one."""
    feed = dice.choice((f"SPA.{number + 2}", "KEY.15", "KEY.75"))
    switch, relay = f"SW{number}", f"K{number}"
    parts.append({"id": switch, "kind": "switch"})
    wires.add(feed, f"{switch}.1")
    at = f"{switch}.2"
    if dice.random() < 0.5:
        parts.append({"id": relay, "kind": "relay"})
        wires.add(at, f"{relay}.86")
        wires.add(f"{relay}.85", dice.choice((f"EA.{10 + number}", "body")))
        wires.add(f"SPA.{20 + number}", f"{relay}.30")
        at = f"{relay}.87"
    for count in range(dice.randint(1, 2)):
        load = f"L{number}{count}"
        if dice.random() < 0.7:
            parts.append({"id": load, "kind": "lamp", "settings": f"watt={dice.choice((2, 5, 21))}"})
            plus, minus = "1", "2"
        else:
            parts.append({"id": load, "kind": "fan", "settings": "running_a=6; inrush_a=20"})
            plus, minus = "+", "-"
        wires.add(at, f"{load}.{plus}")
        wires.add(f"{load}.{minus}", dice.choice((f"EA.{30 + 2 * number + count}", "body")))
