"""What to expect at each terminal, in which states, and what goes dead with each fuse."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import numpy as np
import pytest

from loomwright.handover.asking import asked_of, nearby_states, telling_states
from loomwright.handover.fuse_list import fuses_of
from loomwright.handover.readings import PULSES, readings_of
from loomwright.network.solve import solve_many, values_of
from loomwright.states.asking.scene import scene_of
from loomwright.states.ratings.pulsed import heating_of
from tests.handover.van import changed, rows, solved, wire

IDLING = {"key": "run", "engine": "idle"}


@pytest.fixture(scope="module")
def van():
    """The small van, compiled."""
    return solved(rows())


@pytest.fixture(scope="module")
def columns(van):
    """The states its paper is about."""
    job, kinds, compiled = van
    return asked_of(compiled, telling_states(job, kinds, compiled))


@pytest.fixture(scope="module")
def nearby(van):
    """The states one step from idling."""
    job, kinds, compiled = van
    return asked_of(compiled, nearby_states(job, kinds, compiled, IDLING))


@pytest.fixture(scope="module")
def lines(van, columns, nearby):
    """Point -> its line."""
    told = readings_of(*van, columns, nearby)
    return {f"{part.id}.{line.terminal}": line for part in told for line in part.lines}


def test_the_walk_goes_through_the_key_and_ends_with_the_lights(columns):
    assert [(one.title, dict(one.state)) for one in columns] == [
        ("key off", {"key": "off"}),
        ("accessory", {"key": "accessory"}),
        ("run, engine stopped", {"key": "run"}),
        ("start, cranking", {"key": "start", "engine": "cranking"}),
        ("run, idling", IDLING),
        ("lights on", {**IDLING, "lights": "on"}),
    ]


def test_the_lights_are_the_switch_that_gives_most_light_whatever_it_is_called():
    sheets = rows()
    brake = next(row for row in sheets["parts"] if row["id"] == "BL")
    brake["settings"] = "watt=40"
    job, kinds, compiled = solved(sheets)
    assert telling_states(job, kinds, compiled)[-1] == ("lights on", {**IDLING, "brake": "on"})


def test_lamps_of_other_circuits_are_no_lights():
    sheets = rows()
    for row in sheets["circuits"]:
        row["class"] = "signalling" if row["class"] == "lighting" else row["class"]
    job, kinds, compiled = solved(sheets)
    assert [title for title, _ in telling_states(job, kinds, compiled)][-1] == "run, idling"


def test_cranking_takes_the_clutch_where_the_starter_waits_for_it():
    sheets = rows()
    sheets["parts"] += [
        {"id": "STA", "kind": "starter"},
        {"id": "SCLU", "kind": "switch", "settings": "variable=clutch"},
    ]
    sheets["wires"] += [
        wire("W40", "BAT.+", "STA.30", "supply", "35"),
        wire("W41", "KEY.50", "SCLU.1", "supply", "4"),
        wire("W42", "SCLU.2", "STA.50", "supply", "4"),
    ]
    job, kinds, compiled = solved(sheets)
    states = dict(telling_states(job, kinds, compiled))
    assert states["start, cranking"] == {"key": "start", "engine": "cranking", "clutch": "on"}
    assert states["run, idling"] == IDLING


def test_with_positive_earth_live_is_a_matter_of_size():
    sheets = rows()
    sheets["vehicle"].append({"name": "earth", "value": "positive"})
    for row in sheets["wires"]:
        for end in ("from", "to"):
            row[end] = {"BAT.+": "BAT.-", "BAT.-": "BAT.+"}.get(row[end], row[end])
    sheets["parts"] = [row for row in sheets["parts"] if row["id"] not in ("ECU", "VALVE")]
    sheets["wires"] = [row for row in sheets["wires"] if not {"ECU", "VALVE"} & {row["from"][:3], row["to"][:3]}]
    sheets["wires"] = [row for row in sheets["wires"] if row["id"] not in ("W21", "W22")]
    sheets["controller_pins"] = sheets["drives"] = []
    job, kinds, compiled = solved(sheets)
    columns = asked_of(compiled, telling_states(job, kinds, compiled))
    line = next(part for part in readings_of(job, kinds, compiled, columns, ()) if part.id == "F1").lines[0]
    assert all(line.live)
    assert float(line.volts[0]) < -12.0


def test_a_job_without_a_key_is_asked_at_rest_and_idling():
    sheets = rows()
    sheets["parts"] = [row for row in sheets["parts"] if row["id"] in ("BAT", "F1")]
    sheets["wires"] = [row for row in sheets["wires"] if row["id"] in ("W1", "W3")]
    sheets["controller_pins"] = sheets["drives"] = []
    job, kinds, compiled = solved(sheets)
    assert telling_states(job, kinds, compiled) == (("at rest", {}), ("idling", {"engine": "idle"}))


def test_switches_are_tried_before_figures(van):
    job, kinds, compiled = van
    titles = [title for title, _ in nearby_states(job, kinds, compiled, {**IDLING, "lights": "on"})]
    assert titles[0] == "lights=on, brake=on"
    assert all(title.startswith("lights=on, ") for title in titles)


def test_volts_stand_in_their_columns_and_live_ones_are_marked(lines):
    feed = lines["F1.1"]
    assert feed.live == (True,) * 6
    assert 12.0 < float(feed.volts[0]) < 13.0
    assert lines["KF.86"].live == (False, False, True, True, True, True)
    assert lines["TL.1"].live == (False, False, False, False, False, True)


def test_a_terminal_with_no_path_floats():
    job, kinds, compiled = solved(changed("wires", "W13", to=""))
    columns = asked_of(compiled, telling_states(job, kinds, compiled))
    told = {part.id: part for part in readings_of(job, kinds, compiled, columns, ())}
    assert set(told["BL"].lines[0].volts) == {"floating"}


def test_what_no_column_makes_live_says_what_does(lines):
    volts, change = lines["BL.1"].remark.split(" with ")
    assert change == "brake=on"
    assert 11.0 < float(volts) < 15.0
    assert lines["TL.1"].remark == ""


def test_a_pulsed_pin_and_the_load_behind_it_say_so(lines):
    assert lines["ECU.A4"].remark == PULSES
    assert lines["VALVE.2"].remark == PULSES
    assert lines["ECU.A3"].remark == ""


def test_wires_stand_with_their_colours_and_removed_ones_do_not(lines):
    assert [(mark.id, mark.colour) for mark in lines["FAN.+"].wires] == [("W15", "BU")]
    assert [mark.id for mark in lines["F1.2"].wires] == ["W6", "W11"]


def test_parts_come_controller_fuses_relays_supply_loads_and_each_is_wired(van, columns, nearby):
    told = readings_of(*van, columns, nearby)
    assert [part.id for part in told] == ["ECU", "F1", "F2", "F3", "KF", "BAT", "BL", "FAN", "TL", "TR", "VALVE"]
    assert told[0].lies == ("dead", "dead", "alive", "alive", "alive", "alive")
    relay = next(part for part in told if part.id == "KF")
    assert (relay.thing, relay.name, relay.place) == ("relay", "fan relay", "engine bay")
    assert relay.lies == ("released", "released", "released", "released", "pulled", "pulled")


def test_a_fuse_tells_its_place_its_largest_current_and_what_goes_dead(van, columns, nearby):
    fuses = {fuse.id: fuse for fuse in fuses_of(*van, columns, nearby)}
    lights, fan, key = (fuses[name] for name in ("F1", "F2", "F3"))
    assert (lights.id, lights.rating, lights.place) == ("F1", "10 A", "engine bay, box A, way 3")
    assert lights.dies == ("BL", "TL", "TR")
    assert fan.dies == ("FAN",)
    assert key.dies == ("ECU", "FAN", "VALVE")
    assert fan.most.endswith(", run, idling")
    assert lights.most.endswith(", lights on")


def test_what_has_a_second_way_does_not_go_dead():
    sheets = rows()
    sheets["wires"].append({"id": "W30", "from": "F2.2", "to": "TL.1", "size_mm2": "1.5", "length_mm": "500"})
    job, kinds, compiled = solved(sheets)
    columns = asked_of(compiled, [("lights on", {**IDLING, "lights": "on"})])
    dies = {fuse.id: fuse.dies for fuse in fuses_of(job, kinds, compiled, columns, ())}
    # lamps and fan now reach either fuse, over the light switch
    assert (dies["F1"], dies["F2"]) == ((), ())


def test_a_fuse_of_something_that_pulses_tells_what_warms_it_beside_what_is_shown(van, columns, nearby):
    """On 0.4 of the time, the valve warms as sqrt(0.4) of what flows while it is on; the fan is not pulsed."""
    sheets = changed("wires", "W21", to="F4.1")
    sheets["parts"].append({"id": "F4", "kind": "fuse", "settings": "rating_a=3"})
    sheets["wires"].append(wire("W25", "F4.2", "VALVE.1", "ecu"))
    job, kinds, compiled = solved(sheets)
    heating = heating_of(scene_of(job, kinds, compiled))
    lines = {one.id: one for one in fuses_of(job, kinds, compiled, columns, nearby, heating=heating)}
    shown_a = float(lines["F4"].most.split()[0])
    warms_a = float(lines["F4"].warms.split()[0])
    assert warms_a == pytest.approx(sqrt(0.4) * shown_a, rel=0.02)
    assert lines["F2"].warms == ""
    assert {one.warms for one in fuses_of(*van, columns, nearby)} == {""}, "nothing is known of pulses there"


def test_a_fuse_through_which_nothing_flows_feeds_what_hangs_on_its_second_terminal(columns, nearby):
    """Its current is what the solving leaves over, of either sign: it turned the feed and what is fed about."""
    sheets = changed("wires", "W21", to="F4.1")
    sheets["parts"] += [{"id": "F4", "kind": "fuse", "settings": "rating_a=3"}, {"id": "SPARE", "kind": "switch"}]
    sheets["wires"].append(wire("W25", "F4.2", "SPARE.1", "ecu"))
    job, kinds, compiled = solved(sheets)
    answers = solve_many(compiled, np.array([values_of(compiled, one.state) for one in (*columns, *nearby)], np.int64))
    own = [k for k, element in enumerate(compiled.network.elements) if element.part == "F4"]
    for left_over_a in (1e-9, -1e-9):
        amps = answers.amps.copy()
        amps[:, own] = left_over_a
        lines = fuses_of(job, kinds, compiled, columns, nearby, before=replace(answers, amps=amps))
        line = next(one for one in lines if one.id == "F4")
        assert (line.most, line.feeds) == ("none", ("SPARE.1",))
