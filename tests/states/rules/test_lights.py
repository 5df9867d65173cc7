"""LMP-1 to LMP-5: road lights and tell-tales by their roles."""

from __future__ import annotations

import pytest

from loomwright.states.rules import lights, net
from tests.states.small_jobs import car, codes, findings, wire


def contacts(part, **positions):
    """Rows of the sheet contacts: position -> joins."""
    return [{"part": part, "position": name, "joins": joins} for name, joins in positions.items()]


def lamp_car(more=None, **cells):
    """Head lamps and rear lamps, each side on its own fuse; brake lamps on a third."""
    sheets = {
        "parts": [
            {"id": "FL", "kind": "fuse", "settings": "rating_a=10", "circuit": "left"},
            {"id": "FR", "kind": "fuse", "settings": "rating_a=10", "circuit": "right"},
            {"id": "FB", "kind": "fuse", "settings": "rating_a=10"},
            {"id": "LSW", "kind": "switch_matrix", "settings": "variable=light"},
            {"id": "DSW", "kind": "switch_matrix", "settings": "variable=beam"},
            {"id": "BRK", "kind": "switch", "settings": "variable=brake"},
            {"id": "HL", "kind": "lamp_head", "role": "dipped_left", "circuit": "left"},
            {"id": "HR", "kind": "lamp_head", "role": "dipped_right", "circuit": "right"},
            {"id": "TL", "kind": "lamp_tail", "role": "tail_left"},
            {"id": "TR", "kind": "lamp_tail", "role": "tail_right"},
        ],
        "circuits": [{"id": "left", "class": "lighting"}, {"id": "right", "class": "lighting"}],
        "contacts": [
            *contacts("LSW", off="", side="30+58 30r+58r", head="30+58 30r+58r 30+56 30r+56r"),
            *contacts("DSW", dip="56+56b 56r+56br", main="56+56a 56r+56ar"),
        ],
        "wires": [
            wire("W20", "BAT.+", "FL.1"),
            wire("W21", "BAT.+", "FR.1"),
            wire("W22", "BAT.+", "FB.1"),
            wire("W23", "FL.2", "LSW.30"),
            wire("W24", "FR.2", "LSW.30r"),
            wire("W25", "FB.2", "BRK.1"),
            wire("W26", "LSW.56", "DSW.56"),
            wire("W27", "LSW.56r", "DSW.56r"),
            wire("W28", "DSW.56b", "HL.56b"),
            wire("W29", "DSW.56a", "HL.56a"),
            wire("W30", "DSW.56br", "HR.56b"),
            wire("W31", "DSW.56ar", "HR.56a"),
            wire("W32", "HL.31", "body"),
            wire("W33", "HR.31", "body"),
            wire("W34", "LSW.58", "TL.58"),
            wire("W35", "LSW.58r", "TR.58"),
            wire("W36", "BRK.2", "TL.54"),
            wire("W37", "TL.54", "TR.54"),
            wire("W38", "TL.31", "body"),
            wire("W39", "TR.31", "body"),
        ],
    }
    for sheet, rows in (more or {}).items():
        sheets.setdefault(sheet, []).extend(rows)
    return car(**sheets, **cells)


def told(job):
    """Rule and lamp of what stands on its own."""
    return sorted({(one.rule, one.at[0]) for one in findings(job, lights)})


def test_sound_lamps_are_silent():
    assert codes(lamp_car(), lights, net) == []


def test_roles_that_no_part_has_are_not_asked():
    plain = {part: {"role": ""} for part in ("HL", "HR", "TL", "TR")}
    assert codes(lamp_car(changed={**plain, "W22": {"from": "KEY.15"}}), lights) == []


# LMP-1


def test_brake_lamps_fed_from_the_key_do_not_work_with_the_key_off():
    [found] = findings(lamp_car(changed={"W22": {"from": "KEY.15"}}), lights)
    assert (found.rule, found.severity, found.at) == ("LMP-1", "fault", ("TL", "TL.54"))
    assert {"W22", "FB", "W25", "BRK", "W36"} <= set(found.touches)
    assert "move W22, which feeds FB" in found.mend
    # both lamps hang on the one fuse, and work once its feed is moved
    assert [(one.rule, one.at) for one in found.folded] == [("LMP-1", ("TR", "TR.54"))]


def test_brake_lamps_fed_from_the_key_each_by_a_fuse_of_its_own_are_two_feeds_to_move():
    more = {
        "parts": [{"id": "FB2", "kind": "fuse"}, {"id": "BR2", "kind": "switch", "settings": "variable=brake"}],
        "wires": [wire("W60", "KEY.15", "FB2.1"), wire("W61", "FB2.2", "BR2.1")],
    }
    ends = {"W22": {"from": "KEY.15"}, "W37": {"from": "BR2.2"}}
    found = findings(lamp_car(more, changed=ends), lights)
    assert [(one.rule, one.at, one.folded) for one in found] == [
        ("LMP-1", ("TL", "TL.54"), ()),
        ("LMP-1", ("TR", "TR.54"), ()),
    ]
    assert ["move W22, which feeds FB" in found[0].mend, "move W60, which feeds FB2" in found[1].mend] == [True, True]


def test_brake_lamps_fed_from_the_side_lamps_do_not_work_with_the_lights_off():
    found = findings(lamp_car(changed={"W25": {"from": "LSW.58"}}, without=["W22"]), lights)
    assert {(one.rule, one.at) for one in found} == {("LMP-1", ("TL", "TL.54")), ("LMP-1", ("TR", "TR.54"))}
    assert all("lights off" in one.wrong for one in found)


def side_lamp_car(**cells):
    """One fuse before the light switch, one behind it for the tail lamps."""
    more = {
        "parts": [{"id": "FM", "kind": "fuse"}, {"id": "FS", "kind": "fuse"}],
        "wires": [wire("W50", "BAT.+", "FM.1"), wire("W51", "LSW.58", "FS.1")],
    }
    ends = {"W23": {"from": "FM.2"}, "W34": {"from": "FS.2"}, "W35": {"from": "FS.2"}}
    return lamp_car(more, changed={**ends, **cells})


def test_tail_lamps_fed_from_the_key_never_light_with_the_key_off():
    assert told(side_lamp_car()) == []
    [found] = findings(side_lamp_car(W50={"from": "KEY.15"}), lights)
    assert (found.rule, found.severity, found.at) == ("LMP-1", "fault", ("TL", "TL.58"))
    # the feed is moved before the light switch, which goes on working the lamps, and not at the fuse behind it
    assert "move W50, which feeds FM" in found.mend
    assert ("LMP-1", ("TR", "TR.58")) in [(one.rule, one.at) for one in found.folded]


def test_a_place_of_the_light_switch_for_parking_is_enough():
    parked = {
        "contacts": [{"part": "LSW", "position": "parked", "joins": "30p+58"}],
        "wires": [wire("W52", "FB.2", "LSW.30p")],
    }
    ends = {"W21": {"from": "KEY.15"}, "W20": {"from": "KEY.15"}, "W35": {"from": "LSW.58"}}
    assert ("LMP-1", "TL") not in told(lamp_car(parked, changed=ends))
    assert ("LMP-1", "TL") in told(lamp_car(changed=ends))


def test_a_running_light_without_a_switch_is_not_asked():
    # it is lit with the key and dark without; no lamp beside it says that it should be lit
    alone = {part: {"role": ""} for part in ("HL", "HR", "TR")}
    assert told(lamp_car(changed={"W34": {"from": "KEY.15"}, **alone})) == []


def test_a_tail_lamp_that_needs_the_head_lamps_is_dark_on_side():
    [one] = findings(lamp_car(changed={"W35": {"from": "LSW.56r"}}), lights)
    assert (one.rule, one.at) == ("LMP-1", ("TR", "TR.58"))
    assert dict(one.when)["light"] == "side"


def test_both_tail_lamps_that_go_out_with_the_head_lamps_are_told():
    joins = {"LSW": contacts("LSW", off="", side="30+58 30r+58r", head="30+56 30r+56r")}
    job = lamp_car()
    assert told(job) == []
    rows = {"parts": [{"id": "L2", "kind": "switch_matrix", "settings": "variable=light"}], "contacts": []}
    rows["contacts"] = [{**row, "part": "L2"} for row in joins["LSW"]]
    ends = {"W23": {"to": "L2.30"}, "W24": {"to": "L2.30r"}, "W26": {"from": "L2.56"}, "W27": {"from": "L2.56r"}}
    ends |= {"W34": {"from": "L2.58"}, "W35": {"from": "L2.58r"}}
    found = findings(lamp_car(rows, changed=ends), lights)
    assert {(one.rule, one.at[0]) for one in found} == {("LMP-1", "TL"), ("LMP-1", "TR")}
    assert all(dict(one.when)["light"] == "head" for one in found)


def flashing_car(momentary):
    """A stalk with a third position that lights the main beams by itself."""
    rows = [{"part": "FLA", "position": "off", "joins": ""}]
    rows += [{"part": "FLA", "position": "pull", "joins": "30+56a", "momentary": momentary}]
    more = {
        "parts": [{"id": "FLA", "kind": "switch_matrix", "settings": "variable=lever"}],
        "contacts": rows,
        "wires": [wire("W50", "FB.2", "FLA.30"), wire("W51", "FLA.56a", "HL.56a"), wire("W52", "HL.56a", "HR.56a")],
    }
    return lamp_car(more)


def test_a_flash_of_the_head_lamps_needs_no_tail_lamps():
    assert told(flashing_car("yes")) == []


def test_a_position_that_stays_needs_them():
    assert {rule for rule, _ in told(flashing_car("no"))} == {"LMP-1"}


# LMP-2


def test_a_lamp_that_no_switch_puts_out_is_the_root_of_what_looks_dark_beside_it():
    [one] = findings(lamp_car(changed={"W29": {"from": "FB.2"}}), lights)
    assert (one.rule, one.at) == ("LMP-2", ("HL", "HL.56a"))
    assert one.path == ("W22", "FB", "W29")
    assert {inner.at[0] for inner in one.folded} == {"HR", "TL", "TR"}


def test_a_lost_earth_makes_other_lamps_glow_and_holds_them():
    [one] = findings(lamp_car(without=["W38"]), lights, net)
    assert (one.rule, one.at) == ("NET-1", ("TL.31",))
    # with the tail lamps on, their current goes back through the brake filaments
    glowing = [(inner.at[1], dict(inner.when)) for inner in one.folded if inner.rule == "LMP-2"]
    assert glowing
    assert all(place.endswith(".54") and when["brake"] == "off" for place, when in glowing)
    assert {inner.rule for inner in one.folded} == {"NET-3", "LMP-1", "LMP-2"}


def reverse_car(feed, **cells):
    """A reverse lamp behind the range switch."""
    return car(
        parts=[
            {"id": "SEL", "kind": "selector_switch"},
            {"id": "RV", "kind": "lamp", "role": "reverse_lamp", "settings": "watt=21"},
        ],
        wires=[
            wire("W20", "KEY.15", "SEL.reverse1"),
            wire("W21", feed, "RV.1"),
            wire("W22", "RV.2", "body"),
        ],
        **cells,
    )


def test_a_lamp_lit_from_behind_makes_no_other_lamp_dark():
    """21 W of the brake filament, with no earth, come back through the 5 W one into four more lamps of 5 W.

    That lights it, and leaves those four a quarter each: they are dark beside it with the light switch off, as they
    should be.
    """
    names = ("PL", "P2", "P3", "NP")
    roles = ("position_left", "position_left", "position_left", "plate_lamp")
    more = {
        "parts": [{"id": name, "kind": "lamp", "role": role} for name, role in zip(names, roles, strict=True)],
        "wires": [wire(f"WA{name}", "TL.58", f"{name}.1") for name in names]
        + [wire(f"WB{name}", f"{name}.2", "body") for name in names],
    }
    assert told(lamp_car(more)) == []
    found = findings(lamp_car(more, without=["W38"]), lights)
    assert ("LMP-2", "TL.58") in {(one.rule, one.at[1]) for one in found}
    dark = [one for one in found if one.rule == "LMP-1" and dict(one.when).get("light") == "off"]
    assert [one.at for one in dark if one.at[0] in names] == []


def test_a_reverse_lamp_in_r_only_is_fine():
    assert told(reverse_car("SEL.reverse2")) == []


def test_a_reverse_lamp_past_the_range_switch_is_lit_out_of_r():
    [one] = findings(reverse_car("KEY.15"), lights)
    assert (one.rule, one.at[0]) == ("LMP-2", "RV")
    assert dict(one.when)["selector"] == "P|N|D|3|2|1"


def test_a_reverse_lamp_that_closes_elsewhere_is_dark_in_r():
    job = reverse_car("SEL.reverse2", changed={"SEL": {"settings": "reverse_at=N"}})
    assert told(job) == [("LMP-1", "RV"), ("LMP-2", "RV")]


def turn_car(lamps="lamp", flasher="flasher_electronic", more=None, **cells):
    """Turn lamps, one a corner, with hazard switch and a tell-tale for each side; rows of `more` beside them."""
    more = more or {}
    sides = {"TFL": "turn_left_front", "TRL": "turn_left_rear", "TFR": "turn_right_front", "TRR": "turn_right_rear"}
    feed, back = ("+", "-") if lamps == "led_lamp" else ("1", "2")
    settings = "watt=5" if lamps == "led_lamp" else "watt=21"
    parts = [{"id": name, "kind": lamps, "role": role, "settings": settings} for name, role in sides.items()]
    parts += [{"id": f"TT{side}", "kind": "lamp", "role": "turn_tell_tale", "settings": "watt=2"} for side in "LR"]
    parts += [
        {"id": "FS", "kind": flasher},
        {"id": "ST", "kind": "switch_matrix", "settings": "variable=turn"},
        {"id": "HZ", "kind": "switch_matrix", "settings": "variable=hazard", "role": "hazard_switch"},
    ]
    wires = [
        wire("W20", "KEY.15", "HZ.15"),
        wire("W21", "F1.2", "HZ.30"),
        wire("W22", "HZ.49", "FS.49"),
        wire("W23", "FS.49a", "HZ.49a"),
        wire("W24", "HZ.49a", "ST.49a"),
        wire("W25", "HZ.L", "ST.L"),
        wire("W26", "HZ.R", "ST.R"),
        wire("W31", "ST.L", f"TFL.{feed}"),
        wire("W32", "ST.L", f"TRL.{feed}"),
        wire("W33", "ST.R", f"TFR.{feed}"),
        wire("W34", "ST.R", f"TRR.{feed}"),
        wire("W35", "ST.L", "TTL.1"),
        wire("W36", "ST.R", "TTR.1"),
        wire("W37", "TTL.2", "body"),
        wire("W38", "TTR.2", "body"),
        *(wire(f"E{name}", f"{name}.{back}", "body") for name in sides),
    ]
    if flasher == "flasher_electronic":
        wires.append(wire("W39", "FS.31", "body"))
    return car(
        parts=[*parts, *more.get("parts", ())],
        contacts=[
            *contacts("ST", off="", left="49a+L", right="49a+R"),
            *contacts("HZ", off="15+49", on="30+49 49a+L 49a+R"),
            *more.get("contacts", ()),
        ],
        wires=[*wires, *more.get("wires", ())],
        **cells,
    )


def test_sound_turn_lamps_are_silent():
    assert codes(turn_car(), lights, net) == []


def test_hazard_lamps_on_the_key_are_one_finding_with_the_wire_to_move():
    [found] = findings(turn_car(changed={"W21": {"from": "KEY.15"}}), lights)
    assert (found.rule, found.severity, found.at) == ("LMP-1", "fault", ("TFL", "TFL.1", "W21"))
    assert "hazard" in found.wrong
    assert found.mend.startswith("Move W21 to terminal 30")
    assert {(one.rule, one.at[0]) for one in found.folded} == {("LMP-1", name) for name in ("TRL", "TFR", "TRR")}


def test_turn_lamps_on_the_wrong_side_are_told():
    found = told(turn_car(changed={"W32": {"from": "ST.R"}, "W34": {"from": "ST.L"}}))
    assert ("LMP-2", "TRL") in found
    assert ("LMP-1", "TRL") in found
    assert ("LMP-1", "TRR") in found


def test_turn_lamps_fed_from_the_side_lamps_do_not_light_by_the_lever_alone():
    side = {
        "parts": [
            {"id": "LSW", "kind": "switch_matrix", "settings": "variable=light"},
            {"id": "TL", "kind": "lamp_tail", "role": "tail_left"},
        ],
        "contacts": contacts("LSW", off="", side="30+58"),
        "wires": [wire("L1", "F1.2", "LSW.30"), wire("L2", "LSW.58", "TL.58"), wire("L3", "TL.31", "body")],
    }
    assert told(turn_car(more=side)) == []
    found = findings(turn_car(more=side, changed={"W20": {"from": "LSW.58"}}), lights)
    assert {one.at[0] for one in found if "lever" in one.wrong} == {"TFL", "TFR", "TRL", "TRR"}


# lamps in the company of others, NET-7


def company(job):
    """Where lamps of another purpose hang, with the rules of what is folded beneath."""
    return [(one.at, {inner.rule for inner in one.folded}) for one in findings(job, net, lights) if one.rule == "NET-7"]


def test_brake_and_tail_exchanged_on_one_lamp_are_told_at_it_and_hold_every_lamp_they_darken():
    position = {
        "parts": [{"id": "PL", "kind": "lamp", "role": "position_left"}],
        "wires": [wire("W40", "LSW.58", "PL.1"), wire("W41", "PL.2", "body")],
    }
    apart = {"W37": {"from": "BRK.2"}}
    assert company(lamp_car(position, changed=apart)) == []
    exchanged = {**apart, "W34": {"to": "TL.54"}, "W36": {"to": "TL.58"}}
    assert company(lamp_car(position, changed=exchanged)) == [(("TL", "TL.54", "TL.58"), {"LMP-1"})]


def test_a_turn_lamp_on_the_other_sides_wire_is_told_with_the_wire_it_belongs_to():
    found = findings(turn_car(changed={"W32": {"from": "ST.R"}}), net, lights)
    (root,) = [one for one in found if one.severity == "fault"]
    assert (root.rule, root.at, root.mend) == ("NET-7", ("TRL", "TRL.1"), "Take it to the wire of TFL.1")
    assert {"LMP-1", "LMP-2"} <= {inner.rule for inner in root.folded}


def test_two_turn_lamps_exchanged_are_one_finding():
    job = turn_car(changed={"W32": {"from": "ST.R"}, "W34": {"from": "ST.L"}})
    assert [at for at, _ in company(job)] == [("TRL", "TRL.1", "TRR.1", "TRR")]


def test_of_two_lamps_that_differ_nobody_can_say_which_is_wrong():
    # one lamp's tail and the other's brake on the pedal's wire, and no third lamp or mark on it
    job = lamp_car(without=["W34"], changed={"W36": {"to": "TL.58"}, "W37": {"from": "BRK.2"}})
    assert company(job) == []
    assert ("LMP-1", "TL") in told(job)


# a trailer's lamps


def trailer_car(lamps="lamp", flasher="flasher_electronic", **cells):
    """The car of turn lamps with a trailer's turn lamps on its levers' wires."""
    more = {
        "parts": [{"id": "TSK", "kind": "trailer_socket"}],
        "wires": [wire("Z1", "ST.L", "TSK.1"), wire("Z4", "ST.R", "TSK.4"), wire("Z3", "TSK.3", "body", "2.5")],
    }
    return turn_car(lamps, flasher, more, **cells)


def test_a_trailers_lamps_off_the_car_are_not_dark_lamps():
    assert codes(trailer_car(), lights, net) == []


def test_a_trailers_sides_exchanged_are_told_at_the_socket():
    job = trailer_car(changed={"Z1": {"to": "TSK.4"}, "Z4": {"to": "TSK.1"}})
    assert [at for at, _ in company(job)] == [("TSK", "TSK.1", "TSK.4")]


def test_a_trailers_turn_lamp_on_the_other_sides_wire_is_lit_on_the_wrong_side():
    assert ("LMP-2", "TSK") in told(trailer_car(changed={"Z1": {"from": "TFR.1"}}, without=["Z4"]))


def test_a_bridge_between_the_sides_lights_both():
    found = findings(turn_car(changed={"W26": {"from": "HZ.L"}}), lights)
    assert any(one.rule == "LMP-2" and "together" in one.wrong for one in found)


def fog_car(feed):
    """A rear fog lamp with its own switch."""
    more = {
        "parts": [
            {"id": "FSW", "kind": "switch", "settings": "variable=fog"},
            {"id": "FG", "kind": "lamp", "role": "fog_rear", "settings": "watt=21"},
        ],
        "wires": [wire("W50", feed, "FSW.1"), wire("W51", "FSW.2", "FG.1"), wire("W52", "FG.2", "body")],
    }
    return lamp_car(more)


@pytest.mark.parametrize(("feed", "expected"), [("LSW.58", []), ("FB.2", [("LMP-2", "FG")])])
def test_a_fog_lamp_never_shines_without_tail_lamps(feed, expected):
    assert told(fog_car(feed)) == expected


# LMP-3


def test_one_fuse_for_both_dipped_beams_is_told_at_the_beam_it_does_not_belong_to():
    [one] = findings(lamp_car(changed={"W24": {"from": "FL.2"}}, without=["FR", "W21"]), lights)
    assert (one.rule, one.severity, one.at) == ("LMP-3", "fault", ("HR", "HL", "FL"))
    assert {"W24", "W23", "LSW"} <= set(one.touches)


@pytest.mark.parametrize(
    ("kind", "settings", "expected"),
    [
        ("fuse", "rating_a=30", [("LMP-3", "HL")]),
        ("fuse", "rating_a=40", []),
        ("fuse", "rating_a=30; family=strip_sf30", []),
        ("fusible_link", "", []),
        ("circuit_breaker", "rating_a=30", []),
    ],
)
def test_a_main_fuse_before_the_fuses_of_the_beams_is_not_meant(kind, settings, expected):
    more = {
        "parts": [{"id": "FM", "kind": kind, "settings": settings}],
        "wires": [wire("W50", "BAT.+", "FM.1")],
    }
    job = lamp_car(more, changed={"W20": {"from": "FM.2"}, "W21": {"from": "FM.2"}})
    assert told(job) == expected


# LMP-4


def charge_car(*, back, feed="KEY.15", wake_ohm="100", **cells):
    """An alternator woken over a resistor, so that its lamp may lie."""
    return car(
        parts=[
            {"id": "ALT", "kind": "alternator"},
            {"id": "CL", "kind": "lamp", "role": "charge_lamp", "settings": "watt=2.2"},
            {"id": "RE", "kind": "resistor", "settings": f"ohm={wake_ohm}"},
            {"id": "PS", "kind": "pressure_switch", "settings": "closes_when=engine=stopped"},
        ],
        wires=[
            wire("W20", "ALT.B+", "BAT.+", "16"),
            wire("W21", feed, "CL.1"),
            wire("W22", "CL.2", back),
            wire("W23", "KEY.15", "RE.1"),
            wire("W24", "RE.2", "ALT.D+"),
        ],
        **cells,
    )


def test_a_charge_lamp_to_d_plus_tells_the_truth():
    assert told(charge_car(back="ALT.D+")) == []


def test_a_charge_lamp_that_is_dark_before_the_start_is_told():
    [one] = findings(charge_car(back="ALT.D+", feed="KEY.50"), lights)
    assert (one.rule, one.at[0]) == ("LMP-4", "CL")
    assert dict(one.when) == {"key": "run", "engine": "stopped"}


def test_a_charge_lamp_that_glows_while_it_charges_is_told():
    [one] = findings(charge_car(back="body"), lights)
    assert (one.rule, one.at[0]) == ("LMP-4", "CL")
    assert "charges" in one.wrong
    assert dict(one.when)["engine"] == "idle|running"


def test_a_charge_lamp_that_is_dark_while_nothing_charges_is_told():
    # 1 kohm lets 12 mA into the field: far from the 80 mA that wake it
    [one] = findings(charge_car(back="PS.1", wake_ohm="1000"), lights)
    assert "does not charge" in one.wrong


def oil_car(closes_when):
    """An oil lamp with its pressure switch."""
    return car(
        parts=[
            {"id": "OL", "kind": "lamp", "role": "oil_lamp", "settings": "watt=2"},
            {"id": "PS", "kind": "pressure_switch", "settings": f"closes_when={closes_when}"},
        ],
        wires=[wire("W20", "KEY.15", "OL.1"), wire("W21", "OL.2", "PS.1")],
    )


@pytest.mark.parametrize(
    ("closes_when", "words"),
    [
        ("engine=stopped|cranking", []),
        ("oil_kpa<50", []),
        ("always", ["never goes out"]),
        ("engine=running", ["never glows", "never goes out"]),
    ],
)
def test_an_oil_lamp_glows_before_the_start_and_goes_out(closes_when, words):
    found = findings(oil_car(closes_when), lights)
    assert {one.rule for one in found} <= {"LMP-4"}
    assert len(found) == len(words)
    assert all(any(one.wrong.startswith(word) for one in found) for word in words)


@pytest.mark.parametrize(("back", "expected"), [("HB.1", []), ("body", [("LMP-4", "BT")])])
def test_a_brake_tell_tale_goes_out_somewhere(back, expected):
    job = car(
        parts=[
            {"id": "BT", "kind": "lamp", "role": "brake_tell_tale", "settings": "watt=2"},
            {"id": "HB", "kind": "switch", "settings": "variable=handbrake"},
        ],
        wires=[wire("W20", "KEY.15", "BT.1"), wire("W21", "BT.2", back), wire("W22", "HB.2", "body")],
    )
    assert told(job) == expected


def test_a_turn_tell_tale_that_misses_one_side_is_told():
    [one] = findings(turn_car(without=["W36"]), lights)
    assert one.rule == "LMP-4"
    assert dict(one.when)["turn"] == "right"


def test_a_turn_tell_tale_that_glows_for_nothing_is_told():
    [one] = findings(turn_car(changed={"W36": {"from": "KEY.15"}}), lights)
    assert (one.rule, one.at[0]) == ("LMP-4", "TTR")


def test_a_tell_tale_on_the_flashers_own_contact_is_not_asked_to_be_dark():
    # the flasher is shown in its on half, its pilot contact with it
    job = turn_car(changed={"W36": {"from": "FS.C"}, "W35": {"from": "FS.C"}})
    assert told(job) == []


# LMP-5


def test_led_lamps_on_a_thermal_flasher_are_too_few_watts():
    found = findings(turn_car("led_lamp", "flasher_thermal"), lights)
    assert [(one.rule, one.severity, one.at[0]) for one in found] == [("LMP-5", "warning", "FS")] * 2
    assert (found[0].found, found[0].allowed) == (pytest.approx(10.0), 36.0)


@pytest.mark.parametrize(("lamps", "flasher"), [("lamp", "flasher_thermal"), ("led_lamp", "flasher_electronic")])
def test_filaments_on_a_thermal_one_and_leds_on_an_electronic_one_are_fine(lamps, flasher):
    assert told(turn_car(lamps, flasher)) == []


def test_a_flasher_is_held_against_the_most_it_flashes_too_and_a_trailer_counts_there_only():
    # two lamps of 21 W a side are 42 W; with a trailer's 63 W
    limits = {"FS": {"settings": "min_w=36; max_w=60"}}
    assert told(turn_car("lamp", "flasher_thermal", changed=limits)) == []
    found = findings(trailer_car("lamp", "flasher_thermal", changed=limits), lights)
    assert [(one.rule, one.found, one.allowed) for one in found] == [("LMP-5", pytest.approx(63.0), 60.0)] * 2
    # LED lamps on the car stay too few, though a trailer's lamps would make up for them
    found = findings(trailer_car("led_lamp", "flasher_thermal"), lights)
    assert [one.found for one in found if one.rule == "LMP-5"] == [pytest.approx(10.0)] * 2
