"""The state variables of a job: names, values in order, rest, what springs back, and which figures are looked at."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.job.conditions import Term, holds, parse_condition
from loomwright.job.rows import Part
from loomwright.job.samples import cuts_of, sample_values
from loomwright.job.variables import declared_variables, is_figure, rest_state, variables_of
from loomwright.job.vehicle import Vehicle, metals_of, vehicle_of
from loomwright.tables.kinds import load_kinds
from tests.job.small import SOUND, changed, more, read, sheets


def of(named):
    return {variable.name: variable for variable in variables_of(read(named), load_kinds())}


def test_the_variables_of_the_small_job_and_their_order():
    names = list(of(sheets()))
    assert names == [
        "key",
        "selector",
        "engine",
        "battery",
        "ambient_c",
        "coolant_c",
        "STALK.dip",
        "STALK.turn",
        "oil_kpa",
        "prime",
    ]


def test_values_rest_and_what_springs_back():
    found = of(sheets())
    assert (found["key"].values, found["key"].rest, found["key"].momentary) == (
        ("off", "accessory", "run", "start"),
        "off",
        ("start",),
    )
    assert found["key"].parts == ("KEY",)
    assert (found["engine"].values, found["engine"].rest) == (("stopped", "cranking", "idle", "running"), "stopped")
    assert (found["battery"].values, found["battery"].rest) == (("full", "flat", "cold_weak", "absent", "jump"), "full")
    assert found["STALK.turn"].values == ("off", "left")
    assert (found["STALK.dip"].values, found["STALK.dip"].momentary) == (("low", "flash"), ("flash",))
    assert (found["prime"].values, found["prime"].rest, found["prime"].momentary) == (("no", "yes"), "no", ("yes",))


def test_the_selector_is_there_when_a_condition_names_it():
    assert of(sheets())["selector"].values == ("P", "R", "N", "D", "3", "2", "1")
    assert "selector" not in of(changed("requirements", "lit", when="key=run"))


def test_the_key_is_there_without_a_key_switch_when_named():
    named = sheets()
    named["parts"] = [part for part in named["parts"] if part["id"] != "KEY"]
    found = of(named)
    assert (found["key"].values, found["key"].parts) == (("off", "accessory", "run", "start"), ())


def test_a_figure_has_one_value_in_each_interval():
    found = of(sheets())
    assert (found["coolant_c"].values, found["coolant_c"].rest) == (("40", "105"), "40")
    assert found["coolant_c"].numeric
    assert found["ambient_c"].values == ("-10", "40")
    assert found["oil_kpa"].values == ("0",)


def test_the_vehicle_s_ambients_are_looked_at():
    named = more("vehicle", {"name": "design_ambient_c", "value": "45"}, {"name": "cranking_ambient_c", "value": "-20"})
    found = of(named)
    assert found["ambient_c"].values == ("-20", "45")
    assert found["coolant_c"].rest == "45"


def test_a_figure_with_two_limits():
    named = more("requirements", {"id": "r9", "point": "L1.1", "must": "live", "when": "coolant_c<90, oil_kpa>=30"})
    found = of(named)
    assert found["coolant_c"].values == ("40", "92.5", "105")
    assert found["oil_kpa"].values == ("0", "40")


def test_a_switch_is_named_by_itself_by_its_setting_or_with_others():
    named = sheets()
    named["parts"] += [
        {"id": "S1", "kind": "switch"},
        {"id": "S2", "kind": "switch", "settings": "variable=lights"},
        {"id": "S3", "kind": "switch_changeover", "settings": "variable=lights"},
    ]
    found = of(named)
    assert (found["S1"].values, found["S1"].parts) == (("off", "on"), ("S1",))
    assert found["lights"].parts == ("S2", "S3")
    assert set(found["lights"].values) == {"off", "on", "a", "b"}
    assert found["lights"].rest == "off"


def test_a_change_over_switch_with_a_middle_position_rests_there():
    named = sheets()
    named["parts"] += [
        {"id": "S1", "kind": "switch_changeover"},
        {"id": "S2", "kind": "switch_changeover", "settings": "centre_off=yes"},
    ]
    found = of(named)
    assert (found["S1"].values, found["S1"].rest) == (("a", "b"), "a")
    assert (found["S2"].values, found["S2"].rest) == (("off", "a", "b"), "off")


def test_a_removed_switch_moves_nothing():
    named = sheets()
    named["parts"].append({"id": "S1", "kind": "switch", "fitted": "removed"})
    assert "S1" not in of(named)


def test_one_gang_has_the_part_s_own_name_and_a_named_gang_its_variable():
    rows = [
        {"part": "STALK", "position": "off"},
        {"part": "STALK", "position": "left", "joins": "49a+L"},
    ]
    assert of(sheets(contacts=rows))["STALK"].values == ("off", "left")
    rows = [
        *({**row, "variable": "turn"} for row in SOUND["contacts"][:2]),
        *SOUND["contacts"][2:],
    ]
    found = of(sheets(contacts=rows))
    assert found["turn"].values == ("off", "left")
    assert found["STALK"].values == ("low", "flash")


def test_positions_follow_their_order():
    rows = [
        {"part": "STALK", "position": "high", "order": "3", "joins": "a+b"},
        {"part": "STALK", "position": "off", "order": "1"},
        {"part": "STALK", "position": "low", "order": "2", "joins": "a+c"},
    ]
    assert of(sheets(contacts=rows, wires=[], requirements=[]))["STALK"].values == ("off", "low", "high")


def test_a_key_switch_with_rows_keeps_the_positions_of_its_kind():
    rows = [*SOUND["contacts"], {"part": "KEY", "position": "run", "joins": "30+15"}]
    assert of(sheets(contacts=rows))["key"].values == ("off", "accessory", "run", "start")
    rows = [
        *SOUND["contacts"],
        *({"part": "KEY", "position": position, "joins": "30+15"} for position in ("locked", "run", "start")),
    ]
    assert of(sheets(contacts=rows))["key"].values == ("locked", "run", "start")


def test_the_job_s_own_row_says_the_rest():
    named = more(
        "variables", {"name": "lights", "values": "off side dipped", "rest": "side", "order": "dipped side off"}
    )
    lights = of(named)["lights"]
    assert (lights.values, lights.rest) == (("dipped", "side", "off"), "side")


def test_a_part_whose_name_ends_like_a_unit_is_no_figure():
    named = sheets()
    named["parts"].append({"id": "heater_a", "kind": "switch"})
    named["requirements"][0]["when"] = "heater_a=on"
    heater = of(named)["heater_a"]
    assert (heater.numeric, heater.values) == (False, ("off", "on"))


def test_variables_that_are_there_without_being_named():
    names = {variable.name for variable in declared_variables(read(sheets()), load_kinds())}
    assert {"key", "selector", "engine", "battery", "ambient_c", "coolant_c", "prime", "oil_kpa"} <= names


def test_the_state_at_rest():
    state = rest_state(of(sheets()).values())
    assert (state["key"], state["engine"], state["coolant_c"], state["STALK.turn"]) == ("off", "stopped", 40.0, "off")


def test_names_of_figures():
    assert is_figure("oil_kpa")
    assert not is_figure("key")
    assert not is_figure("c")


def test_what_the_vehicle_says():
    assert vehicle_of(read(sheets())) == Vehicle(title="a small car")
    named = sheets(
        vehicle=[
            {"name": "system_voltage", "value": "6 V"},
            {"name": "earth", "value": "Positive"},
            {"name": "design_ambient_c", "value": "45,5"},
            {"name": "bolted", "value": "engine-gearbox gearbox-axle"},
            {"name": "paint", "value": "green"},
        ]
    )
    vehicle = vehicle_of(read(named))
    assert (vehicle.system_v, vehicle.earth, vehicle.design_ambient_c) == (6.0, "positive", 45.5)
    assert vehicle.cranking_ambient_c == -10.0
    assert vehicle.bolted == (("engine", "gearbox"), ("gearbox", "axle"))
    assert vehicle_of(read(changed("vehicle", "bolted", value="none"))).bolted == ()
    assert vehicle_of(read(sheets(vehicle=[]))) == Vehicle()


def test_the_metals():
    assert metals_of(read(sheets())) == ("body", "engine", "gearbox", "axle", "bonnet")


@pytest.mark.parametrize(
    ("texts", "wanted", "values"),
    [
        (["x_c>=95"], [40.0], (40.0, 105.0)),
        (["x_c>=95", "x_c<=95"], [40.0], (40.0, 95.0, 105.0)),
        (["x_c=20"], [40.0], (10.0, 20.0, 40.0)),
        (["x_c<5", "x_c<6"], [], (4.0, 5.5, 7.0)),
        (["x_c!=1|2"], [], (0.0, 1.0, 1.5, 2.0, 3.0)),
        ([], [], (0.0,)),
    ],
)
def test_samples(texts, wanted, values):
    terms = [parse_condition(text).terms[0] for text in texts]
    assert sample_values(cuts_of(terms), wanted) == values


limits = st.lists(st.integers(-50, 150), min_size=1, max_size=4)
ops = st.sampled_from([">=", "<=", ">", "<", "=", "!="])


@given(st.lists(st.tuples(ops, st.integers(-5, 5)), max_size=5), st.lists(st.integers(-60, 160), max_size=2))
def test_samples_show_every_combination_of_answers_that_any_figure_shows(asked, wanted):
    terms = [Term(variable="x_c", op=op, values=(str(limit),), number=float(limit)) for op, limit in asked]
    conditions = [parse_condition(term.text) for term in terms]

    def answers(value):
        return tuple(holds(condition, {"x_c": value}) for condition in conditions)

    values = sample_values(cuts_of(terms), [float(value) for value in wanted])
    assert {float(value) for value in wanted} <= set(values)
    everywhere = {answers(quarter / 4) for quarter in range(-400, 700)}
    assert {answers(value) for value in values} == everywhere


def test_a_figure_of_the_job_s_own_has_its_values_and_its_rest():
    rows = [
        {"name": "oil_kpa", "values": "0 300", "rest": "300"},
        {"name": "air_c"},
        {"name": "boost_kpa", "values": "5"},
    ]
    found = of(sheets(variables=rows, requirements=[], drives=[]))
    assert (found["oil_kpa"].values, found["oil_kpa"].rest, found["oil_kpa"].numeric) == (("0", "300"), "300", True)
    assert (found["air_c"].values, found["air_c"].rest) == (("40",), "40")
    assert (found["boost_kpa"].values, found["boost_kpa"].rest) == (("5",), "5")


def test_a_condition_that_a_kind_brings_along_cuts_too():
    named = sheets()
    named["kinds"] = [
        {
            "kind": "hot_switch",
            "element": "contact",
            "type": "switch",
            "terminals": "1 2",
            "settings": "closes_when=gearbox_c>=120; rating_a=5",
        }
    ]
    named["parts"].append({"id": "HS", "kind": "hot_switch"})
    assert of(named)["gearbox_c"].values == ("40", "130")


def test_a_job_made_by_hand_with_a_setting_that_can_not_be_still_has_its_variables():
    job = read(sheets())
    parts = (*job.parts, Part(id="S1", kind="switch", settings={"nonsense": "1", "variable": "lights"}))
    assert "lights" in {variable.name for variable in variables_of(replace(job, parts=parts), load_kinds())}
