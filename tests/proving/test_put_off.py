"""What is off before a reading and what that costs, what can be reached then, what a fuse was changed for."""

from __future__ import annotations

import pytest

from loomwright.proving.put_off import off_trouble, put_off
from loomwright.proving.suspects import suspects_of
from loomwright.proving.within_reach import within_reach
from loomwright.refusals import OutOfReach
from tests.states.small_jobs import car, scene, wire

EARTHS = [{"id": "E1", "kind": "earth_point", "settings": "on=body"}, {"id": "E2", "kind": "earth_point"}]
LAMPS = [{"id": "LA2", "kind": "lamp"}, {"id": "LA3", "kind": "lamp"}]


def two_lamps(second: str):
    """Two more lamps behind the switch, earthed by W10 at one bolt and by W11 at the one that is named."""
    return scene(
        car(
            parts=[*EARTHS, *LAMPS],
            wires=[
                wire("W8", "SW1.2", "LA2.1"),
                wire("W9", "SW1.2", "LA3.1"),
                wire("W10", "E1.1", "LA2.2"),
                wire("W11", second, "LA3.2"),
            ],
        )
    )


def test_a_second_wire_under_the_same_nut_is_little_more_trouble():
    assert off_trouble(two_lamps("E1.1"), ["W10", "W11"], []) == pytest.approx(0.25 + 0.05)
    assert off_trouble(two_lamps("E2.1"), ["W10", "W11"], []) == pytest.approx(0.25 + 0.25)


def test_only_what_comes_off_or_goes_back_is_trouble():
    seen = two_lamps("E2.1")
    assert off_trouble(seen, ["F1", "lamp"], ["F1"]) == pytest.approx(0.4)
    assert off_trouble(seen, [], ["F1", "LA1"]) == pytest.approx(0.1 + 0.2)


def test_the_lamp_in_the_lead_lies_in_one_battery_of_a_string():
    string = scene(
        car(
            vehicle=[{"name": "system_voltage", "value": "24"}],
            parts=[{"id": "BAT2", "kind": "battery"}],
            changed={"W3": {"from": "BAT2.+"}},
            wires=[wire("W12", "BAT.+", "BAT2.-", "25", "300")],
        )
    )
    # 12 V across 21 W
    assert [ohm for _, ohm in put_off(string, ["lamp"]).added_ohm] == [pytest.approx(6.857, abs=1e-3)]


def test_a_wire_is_off_at_the_end_that_is_named_and_at_no_other():
    seen = two_lamps("E2.1")
    (wire_off,) = seen.compiled.elements_of["W10"]
    assert put_off(seen, ["W10"]).lifted == ((wire_off, 0),)
    assert put_off(seen, ["W10:LA2.2"]).lifted == ((wire_off, 1),)
    with pytest.raises(OutOfReach):
        put_off(seen, ["W10:LA3.2"])


def test_bolt_is_read_against_bolt():
    assert ("E1.1", "E2.1") in within_reach(two_lamps("E2.1")).pairs


@pytest.mark.parametrize(("rating_a", "small_a"), [("10", 3.0), ("30", 10.0), ("2", None)])
def test_a_fuse_may_have_been_changed_for_the_largest_of_a_third_of_its_rating(rating_a, small_a):
    found = [
        one.blows[1]
        for one in suspects_of(scene(car(changed={"F1": {"settings": f"rating_a={rating_a}"}})))
        if one.kind == "small fuse"
    ]
    # it blows at twice its rating
    assert found == ([] if small_a is None else [2.0 * small_a])
