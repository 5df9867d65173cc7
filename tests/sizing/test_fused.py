"""Which fuse stands before which wire: the graph alone."""

from __future__ import annotations

from loomwright.job.job import Job
from loomwright.sizing.fused import Fused, fused_of
from loomwright.states.paths.conduction import conduction_of
from loomwright.states.ratings.wire_limits import limits_of
from tests.states.rules.engine_car import engine_car
from tests.states.small_jobs import car, scene, wire


def fused(job: Job) -> Fused:
    seen = scene(job)
    return fused_of(seen, conduction_of(seen), limits_of(seen))


def test_the_small_cars_wires_lie_behind_its_fuse():
    found = fused(car())
    assert found.behind == {"F1": ("W4", "W5", "W6")}
    assert set(found.unfused) == {"W3"}
    assert found.fuses_of["W6"] == ("F1",)
    assert found.fuses_of["W7"] == ()


def test_every_closable_contact_is_passed_and_no_load():
    found = fused(engine_car())
    # through the relay's make contact to the pump, not through its coil to the driver
    assert {"P2", "P3"} <= set(found.behind["FPM"])
    assert not {"P4", "P6"} & {name for wires in found.behind.values() for name in wires}


def test_a_fuse_between_two_sources_guards_both_its_sides():
    # the alternator's lead lies behind the charging fuse, which the battery feeds
    assert "E3" in fused(engine_car()).behind["FA"]


def test_what_two_fuses_side_by_side_feed_lies_behind_both():
    job = car(
        parts=[{"id": "F2", "kind": "fuse", "settings": "rating_a=15"}],
        wires=[wire("R1", "BAT.+", "F2.1", "4", "200"), wire("R2", "F2.2", "F1.2", "4", "200")],
    )
    found = fused(job)
    assert found.fuses_of["W6"] == found.fuses_of["R2"] == ("F1", "F2")
    assert set(found.unfused) == {"W3", "R1"}


def test_make_and_break_contact_of_one_relay_are_no_way():
    job = car(
        parts=[
            {"id": "F2", "kind": "fuse", "settings": "rating_a=20"},
            {"id": "F3", "kind": "fuse", "settings": "rating_a=5"},
            {"id": "K1", "kind": "relay"},
            {"id": "LA2", "kind": "lamp"},
        ],
        wires=[
            wire("R1", "BAT.+", "F2.1", "4", "200"),
            wire("R2", "F2.2", "K1.87", "2.5"),
            wire("R3", "BAT.+", "F3.1", "1", "200"),
            wire("R4", "F3.2", "K1.87a", "0.5"),
            wire("R5", "K1.30", "LA2.1", "1.5"),
            wire("R6", "LA2.2", "body"),
            wire("R7", "KEY.15", "K1.86", "1"),
            wire("R8", "K1.85", "body", "1"),
        ],
    )
    found = fused(job)
    assert found.fuses_of["R5"] == ("F2", "F3")
    assert found.fuses_of["R2"] == ("F2",)
    assert found.fuses_of["R4"] == ("F3",)


def test_a_wire_from_the_live_side_to_the_body_makes_nothing_live_that_is_earth():
    # a dead short: rules of volts and blown fuses tell it; nothing here calls the whole body unfused
    assert set(fused(car(wires=[wire("W9", "SW1.1", "body")])).unfused) == {"W3"}
