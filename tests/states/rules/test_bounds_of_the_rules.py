"""Where one rule hands over to another: just on this side of the bound it is told, just on the other it is not.

SUP-1 asks nothing of a controller that has less than half its reset volts: it is not fed at all (our choice, as
`docs/method/supply.md` says; what is not fed at all is KEY-3's). DRP-2 asks a wire for 0.2 V from 20 A on, where the
sources speak of high-current cable (`drop-manual`, p. 967); where that begins is common practice, no source.
"""

from __future__ import annotations

import pytest

from loomwright.states.rules import drop, supply
from tests.states.rules.engine_car import engine_car
from tests.states.small_jobs import car, findings, wire

RESET_V = 5.5


def fed_by_a_divider(lower_ohm: str, **settings: str):
    """The engine car whose controller hangs between two resistors on the battery, 10 ohm above and some below."""
    told = {"draw_a": "0.5", "minimum_v": "7", "reset_v": f"{RESET_V}", "ride_through_ms": "5"} | settings
    return engine_car(
        without=("C1",),
        changed={"ECU": {"settings": "; ".join(f"{name}={text}" for name, text in told.items())}},
        parts=[
            {"id": "RU", "kind": "resistor", "settings": "ohm=10"},
            {"id": "RL", "kind": "resistor", "settings": f"ohm={lower_ohm}"},
        ],
        wires=[
            wire("D1", "BR.2", "RU.1"),
            wire("D2", "RU.2", "ECU.1"),
            wire("D3", "RU.2", "RL.1"),
            wire("D4", "RL.2", "engine"),
        ],
    )


@pytest.mark.parametrize(
    ("lower_ohm", "told"),
    [
        # charging at some 14.2 V, and half of 5.5 V is 2.75 V: 14.2 x 2.5 / 12.5 = 2.84, 14.2 x 2.3 / 12.3 = 2.66
        ("2.5", True),
        ("2.3", False),
    ],
)
def test_a_controller_with_less_than_half_its_reset_volts_is_not_fed_at_all(lower_ohm, told):
    found = [one for one in findings(fed_by_a_divider(lower_ohm), supply) if one.rule == "SUP-1" and "ECU" in one.at]
    assert bool(found) == told
    for one in found:
        assert one.found is not None
        assert RESET_V / 2 < one.found < 3.0


def loaded(amps: str):
    """The small car with a steady load behind 1.2 m of 1.5 mm2 among thick wires; its circuit may lose 1.2 V."""
    return car(
        circuits=[{"id": "warm", "class": "accessories"}],
        parts=[
            {"id": "F2", "kind": "fuse", "settings": "rating_a=30"},
            {"id": "BOX", "kind": "constant_load", "circuit": "warm", "settings": f"average_a={amps}"},
        ],
        wires=[
            wire("H1", "BAT.+", "F2.1", "10", "200"),
            wire("H2", "F2.2", "BOX.supply", "1.5", "1200", circuit="warm"),
            wire("H3", "BOX.earth", "body", "10", "500", circuit="warm"),
        ],
    )


@pytest.mark.parametrize(("amps", "told"), [("19.5", False), ("20.5", True)])
def test_a_wire_is_a_cable_with_a_limit_of_its_own_from_twenty_amps_on(amps, told):
    # 1.2 m of 1.5 mm2, 12.7 mohm/m at 20 degC, 8 % more at 40, two ends: 17 mohm, 0.35 V; half of 1.2 V would be 0.6
    found = [one for one in findings(loaded(amps), drop) if one.rule == "DRP-2" and "H2" in one.at]
    assert bool(found) == told
    for one in found:
        assert one.allowed == 0.2
        assert one.found == pytest.approx(0.35, abs=0.03)
