"""What passes current without doing work, and what lies beyond a contact."""

from __future__ import annotations

from loomwright.states.paths.conduction import beyond, conduction_of, reached
from tests.states.rules.engine_car import engine_car
from tests.states.small_jobs import car, scene, wire


def test_beyond_a_switch_lies_its_lamp_alone():
    seen = scene(
        car(
            parts=[{"id": "LA2", "kind": "lamp"}],
            wires=[wire("W8", "KEY.15", "LA2.1"), wire("W9", "LA2.2", "body")],
        )
    )
    conduction = conduction_of(seen)

    def behind(name: str) -> set[str]:
        index = seen.compiled.elements_of[name][0]
        return {seen.element(k).part for k in beyond(seen, conduction, index)}

    assert behind("SW1.contact") == {"LA1"}
    assert behind("KEY.30-15") == {"LA1", "LA2"}


def test_beyond_an_earth_side_switch_lies_its_load_too():
    seen = scene(
        car(
            changed={"W7": {"to": "TS.1"}},
            parts=[{"id": "TS", "kind": "temperature_switch", "settings": "bolted_to=body"}],
        )
    )
    index = seen.compiled.elements_of["TS.contact"][0]
    assert {seen.element(k).part for k in beyond(seen, conduction_of(seen), index)} == {"LA1"}


def test_at_once_leaves_out_what_a_further_switch_holds_back():
    seen = scene(car())
    conduction = conduction_of(seen)
    key = seen.compiled.elements_of["KEY.30-15"][0]
    assert [seen.element(k).part for k in beyond(seen, conduction, key)] == ["LA1"]
    assert beyond(seen, conduction, key, at_once=True) == ()


def test_earth_and_live_are_tied_through_fuses_and_not_through_contacts():
    seen = scene(car())
    conduction = conduction_of(seen)
    assert {seen.node("body"), seen.node("engine"), seen.node("LA1.2")} <= conduction.earth
    assert {seen.node("F1.2"), seen.node("KEY.30")} <= conduction.live
    assert seen.node("KEY.15") not in conduction.live
    assert conduction.depth[seen.node("LA1.1")] == 2


def test_no_way_takes_two_positions_of_one_switch():
    seen = scene(
        car(
            parts=[{"id": "CH", "kind": "switch_changeover"}],
            wires=[wire("C1", "BAT.+", "CH.a"), wire("C2", "CH.b", "SW1.1"), wire("C3", "CH.c", "LA1.1")],
        )
    )
    conduction = conduction_of(seen)
    found = reached(conduction, [seen.node("CH.a")], into=lambda node: node not in conduction.earth)
    assert seen.node("CH.c") in found
    own = reached(conduction, [seen.node("CH.a")], through=lambda k: seen.element(k).part == "CH")
    assert seen.node("CH.b") not in own


def test_a_coil_a_driver_and_a_suppression_diode_are_no_way():
    seen = scene(engine_car(changed={"KPM": {"settings": "suppression=diode"}}))
    found = reached(conduction_of(seen), [seen.node("KPM.86")])
    assert seen.node("KPM.85") not in found


def test_where_only_some_nodes_are_asked_about_it_goes_no_further_than_to_them():
    seen = scene(engine_car())
    conduction = conduction_of(seen)
    start = seen.node("BAT.+")
    whole = reached(conduction, [start])
    near = min(other for _, other in conduction.at[start])
    assert {start, near} <= reached(conduction, [start], until=[near]) < whole
    nowhere = max(conduction.at) + 1
    assert reached(conduction, [start], until=[near, nowhere]) == whole
