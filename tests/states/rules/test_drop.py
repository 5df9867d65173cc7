"""DRP-1 and DRP-2: volts lost on the way to a load and back."""

from __future__ import annotations

import pytest

from loomwright.car import Car
from loomwright.findings import Finding
from loomwright.states.paths.conduction import conduction_of
from loomwright.states.paths.drop_paths import DropPath, drop_paths
from loomwright.states.rules import drop
from tests.states.rules.engine_car import engine_car
from tests.states.small_jobs import car, findings, scene, wire


def told(rule: str, job: object) -> list[Finding]:
    """Findings of one rule."""
    return [one for one in findings(job, drop) if one.rule == rule]  # type: ignore[arg-type]


def with_heater(feed_mm2: str, limit_v: str = "", **more: str):
    """The small car with a 120 W heater on a fuse of its own, 4 m away."""
    return car(
        circuits=[{"id": "warm", "class": "accessories", "drop_limit_v": limit_v}],
        parts=[
            {"id": "F2", "kind": "fuse", "settings": "rating_a=20"},
            {"id": "SW2", "kind": "switch", "settings": "rating_a=20"},
            {"id": "HT", "kind": "heater", "circuit": "warm", "settings": "watt=120", **more},
        ],
        wires=[
            wire("H1", "BAT.+", "F2.1", "4", "200"),
            wire("H2", "F2.2", "SW2.1", "4"),
            wire("H3", "SW2.2", "HT.1", feed_mm2, "4000"),
            wire("H4", "HT.2", "body", "4"),
        ],
    )


def test_a_thin_feed_is_told_at_the_wire_that_loses_most():
    # 10 A through 4 m of 1 mm2 (19.5 mohm/m at 20 degC, 8 % more at 40): 0.084 ohm, 0.8 V of some 1.1 V in all
    (found,) = told("DRP-1", with_heater("1", limit_v="0.9"))
    assert found.at == ("H3",)
    assert found.severity == "warning"
    assert found.allowed == 0.9
    assert 0.95 < found.found < 1.2
    assert dict(found.when) == {"key": "run", "engine": "running", "SW2": "on", "others": "off"}
    assert {"HT", "H1", "H2", "H4", "SW2", "F2"} <= set(found.touches)
    # alone it loses more than half of what its circuit may, too: what is told once is told once
    assert [one for one in told("DRP-2", with_heater("1", limit_v="0.9")) if "H3" in one.at] == []


def test_a_feed_just_thick_enough_is_silent():
    assert told("DRP-1", with_heater("1.5", limit_v="0.9")) == []


def test_without_a_limit_of_its_own_the_class_decides():
    # accessories may lose 1.2 V at 12 V
    assert told("DRP-1", with_heater("1")) == []
    assert told("DRP-1", with_heater("0.75"))[0].allowed == 1.2


def test_over_a_tenth_of_the_systems_volts_is_a_fault():
    (found,) = told("DRP-1", with_heater("0.5"))
    assert found.found > 1.2
    assert found.severity == "fault"


def test_the_rest_of_the_car_is_at_rest():
    # a second heater on the same earth wire would double what it loses; it is off
    def with_second():
        return car(
            parts=[
                {"id": "HT2", "kind": "heater", "settings": "watt=240"},
                {"id": "SW3", "kind": "switch", "settings": "rating_a=30"},
            ],
            wires=[
                wire("H5", "BAT.+", "SW3.1", "6"),
                wire("H6", "SW3.2", "HT2.1", "6"),
                wire("H7", "HT2.2", "LA1.2", "6"),
            ],
            changed={"W7": {"size_mm2": "0.5", "length_mm": "1500"}},
        )

    # 20 A more through W7 (0.06 ohm) would take 1.2 V from the lamp's 0.9
    assert told("DRP-1", with_second()) == []


def test_a_part_in_series_by_design_keeps_its_own_share():
    job = car(
        without=("W6",),
        parts=[{"id": "RP", "kind": "resistor_pack", "settings": "ohm=2"}],
        wires=[wire("R1", "SW1.2", "RP.1"), wire("R2", "RP.2", "LA1.1")],
    )
    assert told("DRP-1", job) == []


def test_the_way_runs_from_the_source_to_the_load_and_back():
    seen = scene(with_heater("2.5"))
    (path,) = [one for one in drop_paths(seen, conduction_of(seen)) if one.part == "HT"]
    names = [seen.element(k).name for k in path.pieces]
    assert names == ["H1", "F2.fuse", "H2", "SW2.contact", "H3", "H4", "W1"]
    # what the pieces lose and what the load has make up what the battery's posts give
    assert abs(path.total_v - sum(path.each_v)) < 1e-12


def test_one_finding_for_loads_that_share_the_worst_piece():
    job = engine_car(
        changed={"P3": {"size_mm2": "0.5", "length_mm": "6000"}},
        circuits=[{"id": "extra", "class": "accessories"}],
        parts=[{"id": "HT", "kind": "heater", "circuit": "pump", "settings": "watt=20"}],
        wires=[wire("H1", "PMP.+", "HT.1", "2.5"), wire("H2", "HT.2", "body", "2.5")],
    )
    (found,) = told("DRP-1", job)
    assert found.at == ("P3",)
    assert {"PMP", "HT"} <= set(found.touches)


def test_the_alternators_own_lead_is_asked_while_it_charges():
    thin = {"E3": {"size_mm2": "4", "length_mm": "6000"}}
    charging = [{"id": "charge", "class": "charging"}]
    broken = engine_car(circuits=charging, changed={**thin, "ALT": {"circuit": "charge"}})
    assert [one.at for one in told("DRP-1", broken) if "ALT" in one.touches or "E3" in one.at] != []
    sound = engine_car(circuits=charging, changed={"ALT": {"circuit": "charge"}})
    assert told("DRP-1", sound) == []


def test_an_alternator_that_is_cut_off_has_no_way_to_lose_volts_on():
    # the battery then gives, and what it feeds is not the alternator's way
    cut = engine_car(
        without=["E3"], circuits=[{"id": "charge", "class": "charging"}], changed={"ALT": {"circuit": "charge"}}
    )
    seen = scene(cut)
    assert [one.part for one in drop_paths(seen, conduction_of(seen)) if one.part == "ALT"] == []


def test_a_bad_earth_joint_is_a_note_at_the_joint():
    def with_joint(mohm: str):
        return car(
            without=("W7",),
            changed={"LA1": {"settings": "watt=55"}},
            parts=[{"id": "EP", "kind": "earth_point", "settings": f"on=body; joint_mohm={mohm}"}],
            wires=[wire("G1", "LA1.2", "EP.1", "2.5")],
        )

    # 4.6 A through 30 mohm are 0.14 V, more than the 0.1 V an earth may take; through 0.5 mohm they are nothing
    (found,) = told("DRP-2", with_joint("30"))
    assert (found.at, found.severity, found.allowed) == (("EP",), "note", 0.1)
    assert 0.12 < found.found < 0.15
    assert told("DRP-2", with_joint("0.5")) == []


def shared_earth(size_mm2, length_mm):
    """Two lamps on one earth wire, each behind a switch of its own."""
    return car(
        parts=[
            {"id": "SP", "kind": "splice"},
            *({"id": f"SW{k}", "kind": "switch"} for k in "23"),
            {"id": "BL", "kind": "lamp", "role": "brake_lamp", "circuit": "rear", "settings": "watt=42"},
            {"id": "TL", "kind": "lamp", "role": "tail_left", "circuit": "rear", "settings": "watt=5"},
        ],
        circuits=[{"id": "rear", "class": "lighting"}],
        wires=[
            *(wire(f"A{k}", "F1.2", f"SW{k}.1", "2.5") for k in "23"),
            wire("B2", "SW2.2", "BL.1", "2.5", circuit="rear"),
            wire("B3", "SW3.2", "TL.1", circuit="rear"),
            wire("C2", "BL.2", "SP.1", "2.5", circuit="rear"),
            wire("C3", "TL.2", "SP.2", circuit="rear"),
            wire("E", "SP.3", "body", size_mm2, length_mm, circuit="rear"),
        ],
        requirements=[{"id": "R1", "point": "SP.3", "must": "<= 0.5 V", "why": "both lamps return there"}],
    )


def test_what_a_thin_earth_costs_beside_volts_lies_beneath_it_and_makes_it_as_grave():
    job = shared_earth("0.75", "9000")
    [one] = [one for one in Car(job).findings() if one.severity != "note"]
    assert (one.rule, one.at[0]) == ("DRP-1", "E")
    assert [(inner.rule, inner.severity, inner.at[0]) for inner in one.folded] == [("REQ-1", "fault", "SP.3")]
    # between the 0.9 V of its class and a tenth of 12 V: alone it would be a warning
    assert one.severity == "fault"
    assert 0.9 < (one.found or 0.0) < 1.2
    assert [one for one in Car(shared_earth("4", "1000")).findings() if one.severity != "note"] == []


def test_the_sound_cars_are_silent():
    assert findings(car(), drop) == ()
    assert [one for one in findings(engine_car(), drop) if one.severity != "note"] == []


def with_starter(lead_mm2: str, pull_ohm: str = "0.2"):
    """A starter whose solenoid is fed from the key over three metres."""
    return car(
        parts=[
            {"id": "STA", "kind": "starter", "circuit": "start", "settings": f"pull_ohm={pull_ohm}"},
            {"id": "FK", "kind": "fuse", "settings": "rating_a=30"},
        ],
        circuits=[{"id": "start", "class": "starting", "feed": "50"}],
        wires=[
            wire("E1", "BAT.+", "STA.30", "50", "1000", circuit="start"),
            wire("E2", "KEY.50", "STA.50", lead_mm2, "3000", circuit="start"),
        ],
        changed={
            "W2": {"size_mm2": "50"},
            "W3": {"size_mm2": "10"},
            "W4": {"size_mm2": "10"},
            "F1": {"settings": "rating_a=40"},
        },
    )


def solenoid_path(job: object) -> tuple[DropPath, set[str]]:
    """The way to terminal 50, and the names of its pieces."""
    seen = scene(job)  # type: ignore[arg-type]
    path = next(path for path in drop_paths(seen, conduction_of(seen)) if path.at_first > 1.0)
    return path, {seen.element(k).name for k in path.pieces}


def test_a_solenoids_lead_is_asked_for_the_instant_in_which_it_goes_in():
    (found,) = told("DRP-1", with_starter("1.5"))
    assert found.at == ("E2",)
    assert "lead to the solenoid of STA" in found.wrong
    assert found.allowed == pytest.approx(1.9)
    # by hand: at first the pull winding of 0.2 ohm draws five times what the hold winding of 1 ohm does
    path, _ = solenoid_path(with_starter("1.5"))
    assert path.at_first == pytest.approx(6.0)
    assert found.found == pytest.approx(6.0 * path.total_v)


def test_a_thick_lead_brings_it_in():
    assert told("DRP-1", with_starter("6")) == []


def test_what_carries_the_starters_own_current_is_no_part_of_the_lead():
    _, names = solenoid_path(with_starter("1.5"))
    assert "E2" in names
    assert "E1" not in names
