"""What no cell alone can tell: rows that do not fit each other, each told at its place with its mend."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomwright.job.reading import problems_of
from loomwright.job.rows import Wire
from tests.job.small import SOUND, changed, more, only, problems, read, row_of, sheets, without


def end(sheet):
    return len(SOUND[sheet]) + 2


def told(problem):
    return problem.sheet, problem.row, problem.column, problem.found


# names


def test_an_id_twice():
    problem = only(more("wires", {"id": "W3"}))
    assert told(problem) == ("wires", end("wires"), "id", "W3")
    assert f"Row {row_of('wires', 'W3')} has it too" in problem.mend


def test_a_position_of_a_gang_twice():
    problem = only(more("contacts", {"part": "STALK", "gang": "turn", "position": "left", "joins": "49a+R"}))
    assert told(problem) == ("contacts", end("contacts"), "position", "STALK turn left")


def test_the_same_position_in_two_gangs_is_fine():
    assert problems(more("contacts", {"part": "STALK", "gang": "dip", "position": "left", "joins": "56+56a"})) == ()


@pytest.mark.parametrize(
    ("sheet", "row", "column", "meant"),
    [
        ("parts", {"id": "Z", "kind": "fan", "place": "bey"}, "place", "bay"),
        ("parts", {"id": "Z", "kind": "fan", "circuit": "cooler"}, "circuit", "cooling"),
        ("wires", {"id": "Z", "circuit": "lamp"}, "circuit", "lamps"),
        ("wires", {"id": "Z", "cable": "C2"}, "cable", ""),
        ("wires", {"id": "Z", "via": "R1 cabbin"}, "via", "cabin"),
        ("runs", {"id": "Z", "from": "bay", "to": "cabn"}, "to", "cabin"),
        ("bonds", {"from": "bonet", "to": "body"}, "from", "bonnet"),
        ("needs", {"id": "Z", "together": "run_fn"}, "together", "run_fan"),
        ("needs", {"id": "Z", "part": "Q7"}, "part", ""),
        ("readings", {"old_wire": "o2"}, "old_wire", ""),
        ("controller_pins", {"id": "Z", "part": "EUC", "terminal": "A9"}, "part", "ECU"),
        ("connectors", {"id": "Z", "part": "ECU", "mates": "P99"}, "mates", ""),
    ],
)
def test_an_id_nobody_has(sheet, row, column, meant):
    problem = only(more(sheet, row))
    assert told(problem)[:3] == (sheet, end(sheet), column)
    assert problem.found
    assert problem.found in row[column]
    if meant:
        assert problem.mend.startswith(f"Write {meant}, or add a row ")
    else:
        assert "dd a row" in problem.mend


def test_a_part_may_not_be_called_like_a_metal():
    problem = only(more("parts", {"id": "bonnet", "kind": "lamp"}))
    assert told(problem) == ("parts", end("parts"), "id", "bonnet")
    assert problem.mend.endswith("such as bonnet_1")


# vehicle


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("system_voltage", "13"),
        ("earth", "left"),
        ("design_ambient_c", "hot"),
        ("cranking_ambient_c", "-300"),
        ("bolted", "engine"),
    ],
)
def test_a_property_that_cannot_be(name, value):
    rows = [*(row for row in SOUND["vehicle"] if row["name"] != name), {"name": name, "value": value}]
    problem = only(sheets(vehicle=rows))
    assert told(problem) == ("vehicle", len(rows) + 1, "value", value)
    assert problem.allowed


def test_bolted_metals_must_be_there():
    problem = only(changed("vehicle", "bolted", value="engine-gearbx"))
    assert told(problem) == ("vehicle", row_of("vehicle", "bolted"), "value", "gearbx")
    assert problem.mend.startswith("Write gearbox")


def test_a_property_nobody_knows_is_kept_and_a_misspelt_one_told():
    assert problems(more("vehicle", {"name": "paint", "value": "green"})) == ()
    rows = [{"name": "system_volts", "value": "24"}]
    problem = only(sheets(vehicle=rows))
    assert told(problem) == ("vehicle", 2, "name", "system_volts")
    assert problem.mend == "Write system_voltage"


# kinds and settings


def test_an_unknown_kind_names_the_nearest_and_hides_its_points():
    named = changed("parts", "L1", kind="lammp")
    problem = only(named)
    assert told(problem) == ("parts", row_of("parts", "L1"), "kind", "lammp")
    assert problem.mend == "Write lamp, or describe lammp in the sheet kinds"


def test_every_bad_setting_of_a_part_is_told():
    found = problems(changed("parts", "F1", settings="ratting_a=10; family=blade_q; rating_a=-3"))
    row = row_of("parts", "F1")
    assert [told(problem) for problem in found] == [
        ("parts", row, "settings", "family=blade_q"),
        ("parts", row, "settings", "rating_a=-3"),
        ("parts", row, "settings", "ratting_a"),
    ]
    assert found[2].mend.startswith("Write rating_a, or ")
    assert "blade_c" in found[0].allowed


def test_a_setting_that_is_no_figure():
    problem = only(changed("parts", "F1", settings="rating_a=ten"))
    assert told(problem) == ("parts", row_of("parts", "F1"), "settings", "rating_a=ten")


def test_a_decimal_comma_in_a_setting_is_read_and_an_open_one_told():
    job = read(changed("parts", "F1", settings="rating_a=7,5 A; family=blade_c"))
    part = next(part for part in job.parts if part.id == "F1")
    assert part.settings == {"rating_a": "7.5 A", "family": "blade_c"}
    assert part.written["settings"] == "rating_a=7,5 A; family=blade_c"
    problem = only(changed("parts", "F1", settings="rating_a=1,234"))
    assert told(problem) == ("parts", row_of("parts", "F1"), "settings", "rating_a=1,234")
    assert problem.mend == "Write 1.234 or 1234, whichever is meant"


@pytest.mark.parametrize(("part", "settings"), [("E1", "on=bodi"), ("TS", "bolted_to=bodi")])
def test_a_setting_that_names_a_metal(part, settings):
    problem = only(changed("parts", part, settings=settings))
    assert told(problem) == ("parts", row_of("parts", part), "settings", "bodi")
    assert problem.mend.startswith("Write body, or ")


def test_a_setting_that_is_a_condition():
    assert problems(changed("parts", "TS", settings="closes_when=engine=stopped|cranking")) == ()
    problem = only(changed("parts", "TS", settings="closes_when=hot"))
    assert told(problem) == ("parts", row_of("parts", "TS"), "settings", "closes_when=hot")
    problem = only(changed("parts", "TS", settings="closes_when=engine=stoped"))
    assert told(problem) == ("parts", row_of("parts", "TS"), "settings", "closes_when=engine=stoped")
    assert problem.mend == "Write engine=stopped"


def test_the_name_of_a_part_s_variable_must_fit_into_a_condition():
    problem = only(more("parts", {"id": "S1", "kind": "switch", "settings": "variable=my lights"}))
    assert told(problem) == ("parts", end("parts"), "settings", "variable=my lights")


def test_a_sheet_that_is_not_whole_has_no_echo_in_others():
    named = changed("needs", "run_fan", pin="A77", prefer="A78")
    named["controller_pins"] = [{"id": row["id"], "part": row["part"]} for row in SOUND["controller_pins"]]
    assert [told(problem)[:3] for problem in problems(named)] == [("controller_pins", 1, "terminal")]
    named = sheets(metals=[{"name": "bonnet"}])
    assert [told(problem)[:3] for problem in problems(named)] == [("metals", 1, "id")]
    named = sheets(contacts=[{"part": "STALK", "joins": "49a+L"}])
    assert [told(problem)[:3] for problem in problems(named)] == [("contacts", 1, "position")]
    named = sheets(connectors=[{"id": "P1"}])
    assert [told(problem)[:3] for problem in problems(named)] == [("connectors", 1, "part")]


def test_a_property_without_a_value_has_its_usual_one():
    assert problems(changed("vehicle", "system_voltage", value="")) == ()


def test_a_kind_of_the_job_s_own():
    kinds = [
        {"kind": "glow_plug", "type": "load", "terminals": "1", "settings": "case=engine; ohm=0,8 ohm"},
        {"kind": "glow_plug", "element": "heater", "type": "resistor", "terminals": "1 _case", "settings": "ohm=$ohm"},
    ]
    named = more("parts", {"id": "GP1", "kind": "glow_plug", "settings": "ohm=1.2"})
    named["kinds"] = kinds
    named["wires"].append({"id": "W9", "from": "F1.2", "to": "GP1"})
    job = read(named)
    assert job.kinds[0].settings["ohm"] == "0.8 ohm"
    named["wires"].append({"id": "W10", "from": "F1.2", "to": "GP1.2"})
    assert told(only(named)) == ("wires", end("wires") + 1, "to", "GP1.2")


def test_a_kind_of_the_job_s_own_that_cannot_be():
    named = more("parts", {"id": "GP1", "kind": "glow_plug"})
    named["kinds"] = [
        {"kind": "glow_plug", "type": "load", "terminals": "1 2"},
        {"kind": "glow_plug", "element": "heater", "type": "resistance", "terminals": "1 2", "settings": "ohm=1"},
    ]
    problem = only(named)
    assert told(problem) == ("kinds", 3, "type", "resistance")


def test_contacts_belong_to_a_switch():
    problem = only(more("contacts", {"part": "fan1", "position": "on", "joins": "a+b"}))
    assert told(problem) == ("contacts", end("contacts"), "part", "fan1 (fan)")


# points


@pytest.mark.parametrize(
    ("point", "mend"),
    [
        ("L9.1", "Add a row L9 to the sheet parts"),
        ("fan2.+", "Write fan1.+, or add a row fan2 to the sheet parts"),
        ("bodi", "Write body, or add a row bodi to the sheet parts"),
        ("K1.88", "Name one of its terminals, K1.30"),
        ("K1", "Write K1.30 or another of them"),
        ("SP1", "Write SP1"),
        ("SP1.x", "Name one of its terminals, SP1.7"),
        ("X1.3", "Write X1.3"),
        ("X1.3q", "Name one of its terminals, X1.3p"),
        ("ECU.B9", "Name one of its terminals, ECU.A1"),
        ("STALK.77", "Name one of its terminals, STALK.49a"),
        ("body.1", "Write body"),
        ("P1.A1", "Write ECU.A1"),
        ("~ECU.A1", "Write ECU.A1, or add a row ~ECU to the sheet parts"),
    ],
)
def test_a_wire_end_that_is_not_there(point, mend):
    problem = only(changed("wires", "W8", to=point))
    assert told(problem) == ("wires", row_of("wires", "W8"), "to", point)
    assert problem.mend.startswith(mend)
    assert problem.allowed


@pytest.mark.parametrize("point", ["X1.24s", "SP1.1", "bonnet", "gearbox", "E1", "E1.1", "OF1.1", "STALK.56a", "TS"])
def test_a_wire_end_that_is_there(point):
    assert problems(changed("wires", "W8", to=point)) == ()


def test_a_controller_without_pins_says_which_sheet_gives_them():
    named = more("parts", {"id": "TCU", "kind": "controller"})
    named["wires"][-1]["to"] = "TCU.1"
    problem = only(named)
    assert problem.mend == "Give TCU its terminals in the sheet controller_pins"


def test_a_switch_without_rows_says_which_sheet_gives_them():
    named = more("parts", {"id": "DASH", "kind": "switch_matrix"})
    named["wires"][-1]["to"] = "DASH.30"
    assert only(named).mend == "Give DASH its terminals in the sheet contacts"


@pytest.mark.parametrize(
    ("sheet", "row", "column"),
    [
        ("cables", {"id": "C2", "drain_to": "E7.1"}, "drain_to"),
        ("old_wires", {"id": "o2", "joins_to": "L1.9"}, "joins_to"),
        ("readings", {"point": "L1.9"}, "point"),
        ("readings", {"old_wire": "o1", "to": "Q.1"}, "to"),
        ("requirements", {"id": "r9", "point": "L1.9", "must": "live"}, "point"),
        ("requirements", {"id": "r9", "point": "L1.9", "must": "<= 2 A"}, "point"),
        ("requirements", {"id": "r9", "point": "P1.Z9", "must": "live"}, "point"),
    ],
)
def test_other_points_that_are_not_there(sheet, row, column):
    problem = only(more(sheet, row))
    assert told(problem)[:3] == (sheet, end(sheet), column)


@pytest.mark.parametrize("point", ["P1.A1", "~P1.A1", "~ECU.A1", "body", "E1"])
def test_requirements_and_readings_may_name_a_plug_and_its_pin_side(point):
    assert problems(more("requirements", {"id": "r9", "point": point, "must": "live"})) == ()
    assert problems(more("readings", {"point": point})) == ()


def test_a_wire_has_amps_and_no_volts():
    problem = only(more("requirements", {"id": "r9", "point": "W1", "must": ">= 9 V"}))
    assert told(problem) == ("requirements", end("requirements"), "point", "W1")
    assert "B1.+" in problem.mend


def test_amps_of_a_wire_nobody_has_name_the_nearest_wire():
    named = changed("wires", "W1", id="feed_1")
    named["requirements"] = [{"id": "cable", "point": "feed_2", "must": "<= 40 A"}]
    problem = only(named)
    assert told(problem) == ("requirements", 2, "point", "feed_2")
    assert problem.mend.startswith("Write feed_1, or ")


def test_a_reading_measures_something():
    problem = only(more("readings", {"measure": "volts", "value": "12"}))
    assert told(problem) == ("readings", end("readings"), "old_wire", "")


# connectors


def test_a_connector_with_a_terminal_nobody_has():
    problem = only(changed("connectors", "P2", terminals="A1 B7"))
    assert told(problem) == ("connectors", row_of("connectors", "P2"), "terminals", "ECU.B7")


def test_a_connector_with_a_pattern_that_meets_nothing():
    problem = only(changed("connectors", "P2", terminals="B*"))
    assert told(problem) == ("connectors", row_of("connectors", "P2"), "terminals", "ECU.B*")


def test_the_same_cavity_twice_in_one_connector():
    problem = only(changed("connectors", "P2", terminals="A1 A2 A1"))
    assert told(problem) == ("connectors", row_of("connectors", "P2"), "terminals", "A1")


def test_the_same_cavity_in_two_connectors():
    problem = only(more("connectors", {"id": "P3", "part": "ECU", "terminals": "A2", "side": "pin"}))
    assert told(problem) == ("connectors", end("connectors"), "terminals", "ECU.A2")
    assert "P1" in problem.mend


def test_a_connector_is_not_its_own_other_half():
    named = changed("connectors", "P1", mates="P1")
    named["connectors"][1]["mates"] = ""
    assert told(only(named)) == ("connectors", row_of("connectors", "P1"), "mates", "P1")


def test_both_sides_of_an_inline_connector():
    rows = [
        *SOUND["connectors"],
        {"id": "X1p", "part": "X1", "terminals": "1p 2p 3p", "mates": "X1s"},
        {"id": "X1s", "part": "X1", "terminals": "*s", "mates": "X1p"},
    ]
    assert problems(sheets(connectors=rows)) == ()


# controller


def test_an_ability_nobody_has():
    problem = only(changed("controller_pins", "A3", abilities="low_side hihg_side"))
    assert told(problem) == ("controller_pins", row_of("controller_pins", "A3"), "abilities", "hihg_side")
    assert problem.mend == "Write high_side"


def test_a_terminal_of_a_controller_twice():
    problem = only(more("controller_pins", {"id": "A4", "part": "ECU", "terminal": "A2"}))
    assert told(problem) == ("controller_pins", end("controller_pins"), "terminal", "ECU.A2")


@pytest.mark.parametrize("column", ["pair", "recirculates_to"])
def test_a_pin_that_leads_to_nothing(column):
    problem = only(changed("controller_pins", "A3", **{column: "A77"}))
    assert told(problem) == ("controller_pins", row_of("controller_pins", "A3"), column, "A77")
    assert problems(changed("controller_pins", "A3", **{column: "A2"})) == ()


def test_a_recirculation_may_lead_to_a_point():
    assert problems(changed("controller_pins", "A3", recirculates_to="F1.2")) == ()


@pytest.mark.parametrize(
    ("cells", "column"),
    [
        ({"terminal": "88"}, "terminal"),
        ({"pin": "A77"}, "pin"),
        ({"prefer": "A3 A77"}, "prefer"),
        ({"option": "stepper"}, "option"),
        ({"option": "a/b/c"}, "option"),
        ({"ability": "low_sied"}, "ability"),
    ],
)
def test_a_need_that_cannot_be(cells, column):
    problem = only(changed("needs", "run_fan", **cells))
    assert told(problem)[:3] == ("needs", row_of("needs", "run_fan"), column)


@pytest.mark.parametrize("pin", ["A3", "ECU.A3"])
def test_a_need_may_name_its_pin_either_way(pin):
    assert problems(changed("needs", "run_fan", pin=pin, prefer=f"{pin} P1")) == ()


def test_a_terminal_without_its_part():
    assert told(only(changed("needs", "spare", terminal="85")))[:3] == ("needs", row_of("needs", "spare"), "part")


def test_a_drive_of_nothing():
    problem = only(more("drives", {"output": "run_fann", "when": "always"}))
    assert told(problem) == ("drives", end("drives"), "output", "run_fann")
    assert problem.mend == "Write run_fan"


@pytest.mark.parametrize("output", ["A3", "ECU.A3", "run_fan"])
def test_a_drive_of_a_pin_or_a_need(output):
    assert problems(more("drives", {"output": output, "when": "never"})) == ()


# conditions


@pytest.mark.parametrize(
    ("when", "found", "mend"),
    [
        ("ky=run", "ky=run", "Write key, or add a row ky to the sheet variables"),
        ("key=runn", "key=runn", "Write key=run"),
        ("before.key=go", "before.key=go", "Name one of these"),
        ("selector=P|X", "selector=X", "Name one of these"),
        ("engine=ruining", "engine=ruining", "Write engine=running"),
        ("battery=empty", "battery=empty", "Name one of these"),
        ("key>=2", "key>=2", "Name the values, with | between them"),
        ("coolant_c=hot", "coolant_c=hot", "Write the figure"),
        ("colant_c>=95", "colant_c>=95", "Write coolant_c, or add a row colant_c to the sheet variables"),
        ("unplugged=P7", "unplugged=P7", "Name one of these"),
        ("STALK.turn=right", "STALK.turn=right", "Name one of these"),
        ("STALK=left", "STALK=left", "Write STALK."),
    ],
)
def test_a_condition_about_nothing_there_is(when, found, mend):
    problem = only(changed("requirements", "lit", when=when))
    assert told(problem) == ("requirements", row_of("requirements", "lit"), "when", found)
    assert problem.mend.startswith(mend)


@pytest.mark.parametrize(
    "when",
    [
        "key=start, selector=P|N, coolant_c>=95",
        "unplugged=P1|X1",
        "unplugged=none",
        "STALK.turn=left, STALK.dip!=flash",
        "prime=yes",
        "oil_kpa<30",
        "road_kmh>=5",
        "engine=idle|running, key=off",
        "always",
    ],
)
def test_a_condition_about_what_there_is(when):
    assert problems(changed("requirements", "lit", when=when)) == ()


def test_drives_and_readings_are_asked_too():
    assert told(only(more("drives", {"output": "A3", "when": "key=rnu"}))) == (
        "drives",
        end("drives"),
        "when",
        "key=rnu",
    )
    problem = only(more("readings", {"old_wire": "o1", "when": "key=rnu"}))
    assert told(problem) == ("readings", end("readings"), "when", "key=rnu")


@pytest.mark.parametrize(
    ("row", "column", "found"),
    [
        ({"name": "engine", "values": "a b"}, "name", "engine"),
        ({"name": "before", "values": "a b"}, "name", "before"),
        ({"name": "lights"}, "values", ""),
        ({"name": "lights", "values": "off on", "rest": "dim"}, "rest", "dim"),
        ({"name": "lights", "values": "off on", "momentary": "up"}, "momentary", "up"),
        ({"name": "lights", "values": "off on", "order": "off up"}, "order", "up"),
        ({"name": "my lights", "values": "off on"}, "name", "my lights"),
        ({"name": "lights", "values": "off on|off"}, "values", "on|off"),
    ],
)
def test_a_variable_that_cannot_be(row, column, found):
    problem = only(more("variables", row))
    assert told(problem) == ("variables", end("variables"), column, found)


# supplies


def test_a_job_with_no_battery():
    named = sheets(parts=without("parts", "B1"))
    named["wires"] = [wire for wire in named["wires"] if "B1" not in wire["from"]]
    named["requirements"] = []
    problem = only(named)
    assert told(problem) == ("parts", None, "kind", "no battery")
    assert "battery" in problem.mend


def test_a_removed_battery_is_none():
    assert only(changed("parts", "B1", fitted="removed")).found == "no battery"


def test_a_misspelt_battery_is_told_once():
    problem = only(changed("parts", "B1", kind="batery"))
    assert told(problem) == ("parts", row_of("parts", "B1"), "kind", "batery")


@pytest.mark.parametrize(
    ("feed", "mend"),
    [("main_rely", "Write main_relay"), ("F1.9", "Write F1.1"), ("K1", "Write K1.30"), ("99x", "Name")],
)
def test_a_feed_that_is_not_there(feed, mend):
    problem = only(changed("circuits", "cooling", feed=feed))
    assert told(problem) == ("circuits", row_of("circuits", "cooling"), "feed", feed)
    assert problem.mend.startswith(mend)


def test_supplies_in_a_ring_are_named_once():
    named = changed("circuits", "supply", feed="L1.1")
    problem = only(named)
    assert told(problem) == (
        "circuits",
        row_of("circuits", "supply"),
        "feed",
        "supplies in a ring: supply from lamps from supply",
    )


def test_a_longer_ring_with_a_tail():
    named = changed("circuits", "supply", feed="fan1.+")
    named["circuits"][2]["feed"] = "L1.1"
    named["circuits"].append({"id": "tail", "feed": "L1.2"})
    problem = only(named)
    assert problem.found == "supplies in a ring: supply from cooling from lamps from supply"


def test_a_circuit_fed_by_its_own_relay_is_no_ring():
    named = changed("circuits", "cooling", feed="fan1.+")
    assert problems(named) == ()


def test_a_waived_rule_needs_a_reason():
    problem = only(more("waived", {"rule": "NET-1", "reason": ""}))
    assert told(problem) == ("waived", end("waived"), "reason", "")


# what a person may leave open


def test_a_required_terminal_without_a_wire_is_no_problem_of_reading():
    assert problems(sheets(wires=[], requirements=[])) == ()


def test_problems_of_an_edited_job_have_the_row_of_the_sheet_as_it_would_be_written():
    job = read(sheets())
    bad = replace(job, wires=(*job.wires, Wire(id="W9", from_="Q1.1")))
    found = problems_of(bad)
    assert [told(problem) for problem in found] == [("wires", end("wires"), "from", "Q1.1")]


def test_every_problem_is_a_sentence_with_its_place():
    named = more("wires", {"id": "W9", "to": "Q1.1", "colour": "LG", "length_mm": "1,234"})
    for problem in problems(named):
        assert problem.says.startswith(f"sheet wires, row {end('wires')}, {problem.column}: found ")
        assert problem.says.endswith(".")
        for word in ("error", "invalid", "please", "success"):
            assert word not in problem.says.lower()
