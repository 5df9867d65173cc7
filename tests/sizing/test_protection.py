"""PRO-1 to PRO-4: what protects which wire, and where nothing does."""

from __future__ import annotations

import pytest

from loomwright.findings import Finding
from loomwright.job.edits import add_row
from loomwright.job.job import Job
from loomwright.sizing import protection
from tests.states.rules.engine_car import engine_car
from tests.states.small_jobs import car, scene, wire


def told(rule: str, job: Job) -> dict[str, Finding]:
    """Findings of one rule by their first place."""
    found = [one.finding for one in protection.sheet_findings(scene(job))]
    return {one.at[0]: one for one in found if one.rule == rule}


def faults(job: Job) -> list[tuple[str, str]]:
    """Rule and first place of every fault and warning."""
    found = [one.finding for one in protection.sheet_findings(scene(job))]
    return [(one.rule, one.at[0]) for one in found if one.severity != "note"]


def test_the_sound_car_has_notes_only():
    assert faults(car()) == []
    assert {name: one.severity for name, one in told("PRO-1", car()).items()} == {"W3": "note"}


# PRO-1


def test_a_long_new_wire_before_its_fuse_is_a_fault_at_the_wire():
    found = told("PRO-1", car(changed={"W3": {"length_mm": "800"}}))
    assert found["W3"].severity == "fault"
    assert (found["W3"].found, found["W3"].allowed, found["W3"].unit) == (800.0, 300.0, "mm")
    assert {"BAT", "F1"} <= set(found["W3"].touches)


def test_three_hundred_millimetres_and_a_kept_wire_are_notes():
    assert told("PRO-1", car(changed={"W3": {"length_mm": "300"}}))["W3"].severity == "note"
    assert told("PRO-1", car(changed={"W3": {"length_mm": "800", "fitted": "kept"}}))["W3"].severity == "note"
    assert told("PRO-1", car(changed={"W3": {"length_mm": "301"}}))["W3"].severity == "fault"


def test_an_unfused_wire_of_unknown_length_is_a_warning():
    assert told("PRO-1", car(changed={"W3": {"length_mm": ""}}))["W3"].severity == "warning"


def test_a_feed_past_the_fuse_leaves_everything_behind_it_unfused():
    found = told("PRO-1", car(changed={"W4": {"from": "BAT.+"}}))
    assert [name for name, one in found.items() if one.severity == "fault"] == ["W4"]
    # a fuse in W4 protects the others too
    assert [inner.at for inner in found["W4"].folded] == [("W5",), ("W6",)]


def test_a_wire_that_only_a_load_feeds_needs_no_fuse_of_its_own():
    # the lamp's other end through a switch to earth: the lamp limits it
    job = car(
        changed={"W7": {"to": "SW2.1"}},
        parts=[{"id": "SW2", "kind": "switch"}],
        wires=[wire("W8", "SW2.2", "body", "0.5")],
    )
    assert faults(job) == []


def test_the_starters_cable_is_a_note_whatever_its_length():
    found = told("PRO-1", engine_car(changed={"FMR": {"settings": "rating_a=15"}}))
    assert found["E1"].severity == "note"
    assert "E6" not in found


def test_an_alternator_is_a_source_for_what_stands_less_than_it_gives():
    def with_lead(size_mm2: str):
        return engine_car(changed={"FMR": {"settings": "rating_a=15"}, "E3": {"size_mm2": size_mm2}})

    # 70 A: 25 mm2 stands 162 A at 40 degC, 6 mm2 stands 61 A
    assert "E3" not in told("PRO-1", with_lead("25"))
    assert told("PRO-1", with_lead("6"))["E3"].touches[0] == "ALT"


def test_an_old_feed_is_a_source_for_what_stands_less_than_it_gives():
    def with_feed(max_a: str):
        return car(
            parts=[
                {"id": "OF", "kind": "old_feed", "settings": f"max_a={max_a}"},
                {"id": "LA2", "kind": "lamp"},
            ],
            wires=[wire("W8", "OF.1", "LA2.1", "0.5"), wire("W9", "LA2.2", "body", "0.5")],
        )

    # 0.5 mm2 stands 11.3 A at 40 degC
    assert "W8" not in told("PRO-1", with_feed("10"))
    assert told("PRO-1", with_feed("30"))["W8"].severity == "fault"


# PRO-2


def test_a_fuse_above_what_the_thinnest_wire_carries_is_told_at_the_fuse():
    found = told("PRO-2", car(changed={"F1": {"settings": "rating_a=20"}, "W6": {"size_mm2": "0.75"}}))
    assert set(found) == {"F1"}
    assert found["F1"].at == ("F1", "W6")
    assert found["F1"].found == 20.0
    # 0.75 mm2 at 40 degC
    assert abs(found["F1"].allowed - 14.5) < 0.1


@pytest.mark.parametrize(("live", "earth"), [("+", "negative"), ("-", "positive")])
def test_the_fuses_behind_two_batteries_in_series_guard_as_any_whichever_post_is_earth(live, earth):
    earthed = "-" if live == "+" else "+"
    job = car(
        vehicle=[{"name": "system_voltage", "value": "24"}, {"name": "earth", "value": earth}],
        parts=[{"id": "BA2", "kind": "battery"}],
        wires=[wire("W0", f"BAT.{live}", f"BA2.{earthed}", "25", "200")],
        changed={
            "W1": {"from": f"BAT.{earthed}"},
            "W3": {"from": f"BA2.{live}", "length_mm": "800"},
            "F1": {"settings": "rating_a=40"},
        },
    )
    assert told("PRO-1", job)["W3"].severity == "fault"
    # 1.5 mm2 stands 25.4 A
    assert told("PRO-2", job)["F1"].found == 40.0


def test_a_fuse_equal_to_what_the_wire_carries_is_allowed():
    # 16 AWG, 105 degC, 30 degC ambient: 25 A as printed
    vehicle = [{"name": "design_ambient_c", "value": "30"}]
    awg = {name: {"size_mm2": "16 AWG"} for name in ("W4", "W5", "W6")}
    thick = {"W3": {"size_mm2": "6"}}
    at_25 = car(vehicle=vehicle, changed={"F1": {"settings": "rating_a=25"}, **awg, **thick})
    at_30 = car(vehicle=vehicle, changed={"F1": {"settings": "rating_a=30"}, **awg, **thick})
    assert told("PRO-2", at_25) == {}
    assert told("PRO-2", at_30)["F1"].allowed == 25.0


def test_the_hotter_end_decides():
    def at(place_c: str):
        return car(
            places=[{"id": "bay", "ambient_c": place_c}],
            changed={"SW1": {"place": "bay"}, "F1": {"settings": "rating_a=15"}},
        )

    # 1.5 mm2 stands 15.7 A at 80 degC and 10.0 A at 95 degC
    assert told("PRO-2", at("80")) == {}
    assert set(told("PRO-2", at("95"))) == {"F1"}


def test_an_engine_bay_whose_heat_nobody_typed_is_not_as_cool_as_the_day():
    def job(zone: str) -> Job:
        return car(
            places=[{"id": "bay", "zone": zone}],
            changed={"LA1": {"place": "bay"}, "F1": {"settings": "rating_a=15"}},
        )

    assert faults(job("cabin")) == []
    # 1.5 mm2 at 85 °C: 27.3 A at 30 °C times the root of 20 / 75 is 14.1 A
    told_of = told("PRO-2", job("engine_bay"))
    assert [(one.at, round(one.allowed or 0.0, 1)) for one in told_of.values()] == [(("F1", "W6"), 14.1)]


def test_the_wire_before_the_fuse_must_stand_it_too():
    found = told("PRO-2", car(changed={"W3": {"size_mm2": "0.35"}}))
    assert found["F1"].at == ("F1", "W3")


def test_an_earth_return_is_not_judged_by_the_fuse():
    assert told("PRO-2", car(changed={"F1": {"settings": "rating_a=15"}, "W7": {"size_mm2": "0.5"}})) == {}


def test_what_lies_behind_the_next_fuse_is_the_next_fuses_business():
    def with_second(rating_a: str):
        return car(
            without=("W5",),
            changed={"F1": {"settings": "rating_a=30"}, "W3": {"size_mm2": "6"}, "W4": {"size_mm2": "6"},
                     "W6": {"size_mm2": "0.75"}},
            parts=[{"id": "F2", "kind": "fuse", "settings": f"rating_a={rating_a}"}],
            wires=[wire("W8", "KEY.15", "F2.1", "4"), wire("W9", "F2.2", "SW1.1", "0.75")],
        )  # fmt: skip

    assert faults(with_second("7.5")) == []
    assert told("PRO-2", with_second("20"))["F2"].at[0] == "F2"


def tapped(length_mm: str, size_mm2: str, rating_a: str = "10") -> Job:
    """A 40 A main fuse, a busbar, a tap to a fuse of its own and a lamp behind that."""
    return car(
        parts=[
            {"id": "FM", "kind": "fuse", "settings": "rating_a=40"},
            {"id": "BB", "kind": "busbar"},
            {"id": "F2", "kind": "fuse", "settings": f"rating_a={rating_a}"},
            {"id": "LA2", "kind": "lamp"},
        ],
        wires=[
            wire("M1", "BAT.+", "FM.1", "10", "200"),
            wire("M2", "FM.2", "BB.1", "10"),
            wire("M3", "BB.2", "F2.1", size_mm2, length_mm),
            wire("M4", "F2.2", "LA2.1", "1.5"),
            wire("M5", "LA2.2", "body", "1.5"),
        ],
    )


def test_a_tap_that_stands_its_own_fuse_is_a_note():
    # 1.5 mm2 stands 25.4 A, 135 % of 10 A are 13.5 A
    assert faults(tapped("300", "1.5")) == []
    notes = told("PRO-1", tapped("300", "1.5"))
    assert notes["M3"].severity == "note"
    assert "FM" in notes["M3"].touches


def test_a_tap_too_long_is_the_main_fuses_fault():
    assert told("PRO-2", tapped("301", "1.5"))["FM"].at == ("FM", "M3")


def test_a_short_wire_that_feeds_a_lamp_too_is_no_tap():
    # the lamp beside the fuse at its end draws past that fuse: 1.5 mm2 stands 25.4 A behind 40 A
    job = tapped("300", "1.5")
    lamp = {"id": "LA3", "kind": "lamp"}
    beside = add_row(job, "parts", lamp)
    for row in (wire("M6", "F2.1", "LA3.1", "6", "300"), wire("M7", "LA3.2", "body", "6", "300")):
        beside = add_row(beside, "wires", row)
    assert told("PRO-2", job) == {}
    assert told("PRO-2", beside)["FM"].at == ("FM", "M3")


def test_a_tap_too_thin_for_the_fuse_it_ends_in_is_told_at_that_one():
    found = told("PRO-2", tapped("300", "0.5"))
    (one,) = found.values()
    # 0.5 mm2 stands 11.3 A: less than 13.5 A, 135 % of 10 A
    assert one.at == ("F2", "M3")
    assert "FM" in one.touches
    assert (one.found, round(one.allowed or 0.0, 1)) == (10.0, 8.3)
    assert told("PRO-2", tapped("300", "0.5", rating_a="7.5")) == {}


def test_a_fuse_too_large_for_what_lies_on_both_sides_of_it_is_one_finding():
    # 30 A: more than the 25.4 A of the wires behind it, and than the tap before it stands; the main fuse is not meant
    found = told("PRO-2", tapped("300", "1.5", rating_a="30"))
    assert list(found) == ["F2"]
    assert found["F2"].at == ("F2", "M4")
    assert [(inner.rule, inner.at) for inner in found["F2"].folded] == [("PRO-2", ("F2", "M3"))]


def test_two_positions_of_one_switch_do_not_put_a_wire_behind_both_fuses():
    def changing(kind: str):
        return car(
            parts=[
                {"id": "F2", "kind": "fuse", "settings": "rating_a=20"},
                {"id": "CH", "kind": kind},
                {"id": "LA2", "kind": "lamp"},
            ],
            wires=[
                wire("C1", "BAT.+", "F2.1", "4", "200"),
                wire("C2", "F2.2", "CH.a", "2.5"),
                wire("C3", "KEY.15", "CH.b", "0.75"),
                wire("C4", "CH.c", "LA2.1", "2.5"),
                wire("C5", "LA2.2", "body", "2.5"),
            ],
        )

    # C3 hangs on F1 (10 A); F2 (20 A) would be too large for it, but the switch never joins a to b
    assert told("PRO-2", changing("switch_changeover")) == {}


def test_a_starting_circuit_is_judged_by_half_a_minute():
    def with_start(circuit_class: str):
        return engine_car(
            circuits=[{"id": "start", "class": circuit_class}],
            changed={"FMR": {"settings": "rating_a=15"}, "E6": {"size_mm2": "1.5", "circuit": "start"}},
        )

    # 30 A fuse, 1.5 mm2: 25.4 A for ever, 32 A for 30 s
    assert "FST" not in told("PRO-2", with_start("starting"))
    assert told("PRO-2", with_start("accessories"))["FST"].at == ("FST", "E6")


def test_a_link_must_be_thinner_than_the_wire_it_guards():
    def with_link(size_mm2: str):
        return car(
            parts=[
                {"id": "FL", "kind": "fusible_link", "settings": f"size_mm2={size_mm2}"},
                {"id": "LA2", "kind": "lamp"},
            ],
            wires=[
                wire("K1", "BAT.+", "FL.1", "4", "100"),
                wire("K2", "FL.2", "LA2.1", "2.5"),
                wire("K3", "LA2.2", "body", "2.5"),
            ],
        )

    assert told("PRO-2", with_link("2.5"))["FL"].at == ("FL", "K2")
    assert told("PRO-2", with_link("1.5")) == {}


def test_a_fuse_nobody_rated_and_a_wire_nobody_sized_are_not_judged():
    assert told("PRO-2", car(changed={"F1": {"settings": ""}})) == {}
    unsized = {name: {"size_mm2": ""} for name in ("W3", "W4", "W5", "W6")}
    assert told("PRO-2", car(changed={"F1": {"settings": "rating_a=40"}, **unsized})) == {}


# PRO-3


def test_a_short_too_far_away_to_open_its_fuse_is_a_fault():
    far = {"W6": {"length_mm": "12000", "size_mm2": "0.75"}, "W3": {"size_mm2": "6"}}
    # 12 m of 0.75 mm2 are 0.37 ohm hot: some 30 A. A 20 A fuse need not open at 1.5 times for ten minutes and the
    # wire stands 14.5 A
    found = told("PRO-3", car(changed={**far, "F1": {"settings": "rating_a=20"}}))
    assert found["F1"].at == ("F1", "W6")
    assert found["F1"].allowed == 160.0
    assert found["F1"].found > 160.0
    # a 7.5 A fuse sees four times its rating and opens in half a second
    assert told("PRO-3", car(changed={**far, "F1": {"settings": "rating_a=7.5"}})) == {}


def test_a_slow_fuse_harms_what_a_fast_one_protects():
    def with_family(family: str):
        return car(changed={"F1": {"settings": f"rating_a=20; family={family}"}, "W6": {"size_mm2": "0.5"}})

    # at six times 20 A type C lets 120^2 x 0.1 = 1 440 A2s through, type E ten times as much; 0.5 mm2 from 105 degC on
    # stands (87.4 x 0.5)^2 = 1 910
    slow = told("PRO-3", with_family("blade_e"))
    assert slow["F1"].at == ("F1", "W6")
    assert slow["F1"].found > 160.0
    assert told("PRO-3", with_family("blade_c")) == {}


def test_of_several_wires_that_a_short_harms_the_hottest_is_told_and_the_others_with_it():
    job = car(
        changed={
            "F1": {"settings": "rating_a=20; family=blade_e"},
            "W5": {"size_mm2": "0.75"},
            "W6": {"size_mm2": "0.5"},
            "W4": {"size_mm2": "6"},
        }
    )
    # 14 400 A2s may pass; 0.75 mm2 stands (87.4 x 0.75)^2 = 4 300 and 0.5 mm2 1 910: the thinner is the hotter
    found = told("PRO-3", job)["F1"]
    assert found.at == ("F1", "W6")
    assert found.touches == ("W5",)


def test_a_family_whose_gates_end_low_is_not_judged_in_a_dead_short():
    assert (
        told("PRO-3", car(changed={"F1": {"settings": "rating_a=20; family=glass"}, "W6": {"size_mm2": "0.5"}})) == {}
    )


# PRO-4


def test_an_overload_that_lasts_is_a_warning_near_the_limit_and_a_note_with_margin():
    # 1.35 x 25 A on a wire that stands 25.4 A at 40 degC: 40 + 65 x 1.76 = 155 degC
    near = told("PRO-4", car(changed={"F1": {"settings": "rating_a=25"}, "W3": {"size_mm2": "6"}}))
    assert near["F1"].severity == "warning"
    assert near["F1"].allowed == 105.0
    assert abs(near["F1"].found - 154.7) < 1.0
    # 1.35 x 20 A: 40 + 65 x 1.13 = 113 degC, and 20 A is four fifths of 25.4 A
    margin = told("PRO-4", car(changed={"F1": {"settings": "rating_a=20"}, "W3": {"size_mm2": "6"}}))
    assert margin["F1"].severity == "note"
    # 1.1 mm2 stands 21.4 A: 20 A are more than nine tenths of it, though of the others' 25.4 A they are less
    mixed = car(changed={"F1": {"settings": "rating_a=20"}, "W3": {"size_mm2": "6"}, "W6": {"size_mm2": "1.1"}})
    assert told("PRO-4", mixed)["F1"].severity == "warning"
    # 1.35 x 15 A: 81 degC
    assert told("PRO-4", car(changed={"F1": {"settings": "rating_a=15"}})) == {}


def test_where_the_rating_is_too_large_already_the_overload_is_not_told_again():
    broken = car(changed={"F1": {"settings": "rating_a=30"}, "W3": {"size_mm2": "6"}})
    assert set(told("PRO-2", broken)) == {"F1"}
    assert told("PRO-4", broken) == {}
