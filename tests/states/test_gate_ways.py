"""Nets, gates and ways: what is always joined, and by which contacts it meets the supply or earth."""

from __future__ import annotations

from loomwright.job.job import Job
from loomwright.states.paths.gate_ways import is_earthed, is_fed, rests_on, ways
from loomwright.states.paths.joined import joined_of, places_between
from tests.states.rules.engine_car import engine_car
from tests.states.small_jobs import car, scene, wire


def sides(job: Job, point: str) -> tuple[bool, bool]:
    """Whether a point can be live, and whether it can be at earth, through contacts alone."""
    seen = scene(job)
    joined = joined_of(seen)
    net = joined.net_of[seen.node(point)]
    return is_fed(seen, joined, net), is_earthed(seen, joined, net)


def test_a_switched_lamp_is_fed_on_one_side_and_earthed_on_the_other():
    assert sides(car(), "LA1.1") == (True, False)
    assert sides(car(), "LA1.2") == (False, True)


def test_a_fuse_joins_and_a_contact_does_not():
    seen = scene(car())
    net_of = joined_of(seen).net_of
    assert net_of[seen.node("BAT.+")] == net_of[seen.node("KEY.30")]
    assert net_of[seen.node("KEY.30")] != net_of[seen.node("KEY.15")]


def test_contacts_that_exclude_each_other_make_no_way():
    # off joins 53 to 53e, slow joins 53 to 53a: the park contact to earth never ties the feed to earth
    parts = [{"id": "WIP", "kind": "wiper"}, {"id": "WSW", "kind": "switch_matrix"}]
    contacts = [
        {"part": "WSW", "position": "off", "joins": "53+53e"},
        {"part": "WSW", "position": "slow", "joins": "53a+53"},
    ]
    wires = [
        wire("D1", "KEY.15", "WSW.53a"),
        wire("D2", "KEY.15", "WIP.53a"),
        wire("D3", "WSW.53", "WIP.53"),
        wire("D4", "WSW.53e", "WIP.53e"),
        wire("D5", "WIP.31", "body"),
    ]
    job = car(parts=parts, contacts=contacts, wires=wires)
    assert sides(job, "KEY.15") == (True, False)
    assert sides(job, "WIP.53e") == (True, True)


def test_the_thick_pull_winding_of_a_starter_joins_nothing():
    seen = scene(engine_car())
    net_of = joined_of(seen).net_of
    assert net_of[seen.node("STA.50")] != net_of[seen.node("STA.M")]


def test_a_pump_rests_on_its_relay_the_controller_and_the_key():
    seen = scene(engine_car())
    joined = joined_of(seen)
    pump = [k for k in seen.elements_of["PMP"] if seen.element(k).load][:1]
    rests = rests_on(seen, joined, pump)
    names = {seen.element(gate).name for gate in rests.gates}
    assert {"KPM.make", "KMR.make", "KEY.30-15", "ECU.6.drive"} <= names
    assert not {name for name in names if name.startswith(("SEL.", "KST."))}


def test_a_way_keeps_the_values_it_is_given():
    seen = scene(engine_car())
    joined = joined_of(seen)
    net = joined.net_of[seen.node("KST.86")]
    selector = seen.compiled.variable_of["selector"]
    values = seen.compiled.network.variables[selector].values
    park = {selector: frozenset({values.index("P")})}
    drive = {selector: frozenset({values.index("D")})}
    assert len(ways(seen, joined, net, "live", park)) == 1
    assert ways(seen, joined, net, "live", drive) == ()


def test_places_along_a_net_come_in_order():
    seen = scene(car())
    joined = joined_of(seen)
    found = places_between(seen, joined, seen.node("KEY.30"), {seen.node("BAT.+")})
    assert found == ("W4", "F1", "W3")


def test_a_net_without_a_wire_is_another_net():
    seen = scene(car())
    joined = joined_of(seen, ("W4",))
    assert joined.net_of[seen.node("F1.2")] != joined.net_of[seen.node("KEY.30")]
    assert places_between(seen, joined, seen.node("KEY.30"), {seen.node("BAT.+")}) == ()
