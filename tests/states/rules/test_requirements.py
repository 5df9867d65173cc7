"""REQ-1 and REQ-2: what the job itself requires."""

from __future__ import annotations

import pytest

from loomwright.states.rules import requirements
from tests.states.rules.engine_car import engine_car
from tests.states.small_jobs import car, codes, findings, wire


def asked(point, when, must, **cells):
    """The small car with one requirement."""
    row = {"id": "R1", "point": point, "when": when, "must": must, "why": "because"}
    return car(requirements=[row], **cells)


@pytest.mark.parametrize(
    ("point", "when", "must"),
    [
        ("LA1.1", "key=run|start, SW1=on", "live"),
        ("LA1.1", "key=off|accessory", "dead"),
        # a floating point fails every comparison, so this one asks where SW1 is closed
        ("LA1.1", "SW1=on, key=off", "<= 0.1 V"),
        ("KEY.50", "key=run", "floating"),
        ("LA1.1", "key=run, SW1=on", ">= 12 V"),
        ("W6", "", "<= 2 A"),
        ("LA1.1", "key=run, SW1=on", ">= 1.5 A"),
        ("body", "", "<= 0.1 V"),
    ],
)
def test_what_is_kept_is_silent(point, when, must):
    assert codes(asked(point, when, must), requirements) == []


@pytest.mark.parametrize(
    ("point", "when", "must", "found_v"),
    [
        ("LA1.1", "key=accessory, SW1=on", "live", 0.0),
        ("LA1.1", "key=run, SW1=on", "dead", 12.5),
        ("KEY.50", "key=run", "live", None),
        ("KEY.50", "key=run", "<= 1 V", None),
        ("LA1.1", "key=run, SW1=on", "floating", None),
        ("LA1.1", "key=run, SW1=on", ">= 13 V", 12.5),
        ("W6", "", "<= 1 A", 1.78),
        ("LA1.1", "key=run, SW1=on", "<= 1 A", 1.78),
    ],
)
def test_what_is_broken_is_told_with_its_figure(point, when, must, found_v):
    [one] = findings(asked(point, when, must), requirements)
    assert (one.rule, one.severity, one.at) == ("REQ-1", "fault", (point, "R1"))
    if found_v is None:
        assert one.found is None
    else:
        assert one.found == pytest.approx(found_v, abs=0.1)
    assert "because" in one.label


def test_a_figure_below_earth_is_told_by_its_size():
    """While the alternator charges its case lies below the battery's earthed post: the current returns that way."""
    must = {"id": "R1", "point": "ALT.case", "when": "key=run, engine=running", "must": "<= 0.0001 V"}
    [one] = findings(engine_car(requirements=[must]), requirements)
    assert one.rule == "REQ-1"
    assert one.found > 0.0001


def test_the_least_conditions_are_told():
    [one] = findings(asked("LA1.1", "key=run|start", "dead"), requirements)
    assert dict(one.when) == {"key": "run|start", "SW1": "on"}


def test_where_a_point_has_what_it_should_not_the_way_is_told():
    [one] = findings(asked("LA1.1", "key=run, SW1=on", "dead"), requirements)
    assert one.path == ("W3", "F1", "W4", "KEY", "W5", "SW1", "W6")


def test_a_requirement_that_no_state_asks_is_a_warning():
    # nothing in this car can crank
    assert codes(asked("LA1.1", "engine=cranking", "dead"), requirements) == [("REQ-2", "warning", "R1")]
    assert codes(asked("LA1.1", "never", "dead"), requirements) == [("REQ-2", "warning", "R1")]


def test_one_of_a_cranking_engine_is_asked_though_another_switch_lets_it_crank():
    # the lamp hangs on nothing that the selector moves, and the engine cranks in P and N only
    row = {"id": "R1", "point": "LA1.1", "when": "key=start, engine=cranking, SW1=on", "must": "live", "why": "because"}
    moved = {"E7": {"to": "CLU.1"}, "E8": {"from": "CLU.2"}}
    clutch = [{"id": "CLU", "kind": "switch", "role": "start_inhibit"}]
    assert codes(engine_car(without=("SEL",), parts=clutch, changed=moved, requirements=[row]), requirements) == []
    cut = engine_car(without=("SEL", "E8"), parts=clutch, changed={"E7": {"to": "CLU.1"}}, requirements=[row])
    assert codes(cut, requirements) == [("REQ-2", "warning", "R1")]


def test_one_that_some_state_asks_is_none():
    assert codes(asked("LA1.1", "engine=idle, key=off", "dead"), requirements) == []


@pytest.mark.parametrize(("must", "rules"), [(">= 12.2 V", ["REQ-1"]), (">= 11 V", [])])
def test_a_flat_battery_is_asked_where_the_condition_names_it(must, rules):
    # 11.8 V of a flat battery less what a lamp of 21 W takes along the wires
    job = asked("LA1.1", "key=run, SW1=on, battery=flat", must)
    found = findings(job, requirements)
    assert [one.rule for one in found] == rules
    assert all(dict(one.when)["battery"] == "flat" for one in found)


def test_without_a_word_the_battery_is_full():
    assert codes(asked("LA1.1", "key=run, SW1=on", ">= 12.2 V"), requirements) == []


def holding_car(must):
    """A relay that holds itself in: it is on with its button up only where it was on before."""
    return car(
        parts=[
            {"id": "K1", "kind": "relay"},
            {"id": "PB", "kind": "switch"},
            {"id": "LA2", "kind": "lamp"},
        ],
        wires=[
            wire("W10", "KEY.15", "PB.1"),
            wire("W11", "PB.2", "K1.86"),
            wire("W12", "K1.85", "body"),
            wire("W13", "KEY.15", "K1.30"),
            wire("W14", "K1.87", "K1.86"),
            wire("W15", "K1.87", "LA2.1"),
            wire("W16", "LA2.2", "body"),
        ],
        requirements=[{"id": "R1", "point": "LA2.1", "when": "key=run, PB=off, before.PB=on", "must": must}],
    )


@pytest.mark.parametrize(("must", "rules"), [("live", []), ("dead", ["REQ-1"])])
def test_the_state_before_is_asked_where_the_condition_names_it(must, rules):
    found = findings(holding_car(must), requirements)
    assert [one.rule for one in found] == rules
    assert all(dict(one.when)["before.PB"] == "on" for one in found)


@pytest.mark.parametrize(("when", "rules"), [("key=run, SW1=on", []), ("key=run, SW1=on, unplugged=C1", ["REQ-1"])])
def test_a_plug_is_off_only_where_the_condition_names_it(when, rules):
    job = asked("LA1.1", when, "live", connectors=[{"id": "C1", "part": "SW1", "terminals": "1 2"}])
    found = findings(job, requirements)
    assert [one.rule for one in found] == rules
    assert all(dict(one.when)["unplugged"] == "C1" for one in found)


def test_a_condition_on_more_switches_than_the_search_multiplies_is_asked_all_the_same():
    # eight lamps with a switch each: the search pairs them, the condition names four
    many = range(8)
    parts = [{"id": f"S{k}", "kind": "switch"} for k in many] + [{"id": f"L{k}", "kind": "lamp"} for k in many]
    wires = [wire(f"A{k}", "KEY.15", f"S{k}.1") for k in many] + [wire(f"B{k}", f"S{k}.2", f"L{k}.1") for k in many]
    wires += [wire(f"C{k}", f"L{k}.2", "body") for k in many]
    when = "key=run, S1=on, S2=off, S3=on, S4=off, S5=on, SW1=off"
    row = {"id": "R1", "point": "W4", "when": when, "must": "<= 1 A"}
    [one] = findings(car(parts=parts, wires=wires, requirements=[row]), requirements)
    assert one.rule == "REQ-1"
    # 5 W each at 12 V: at least those three
    assert one.found > 1.2


def pair(one, other, **cells):
    """The small car with two requirements on one point or more: (point, when, must) each."""
    rows = [
        {"id": f"R{number}", "point": point, "when": when, "must": must, "why": "because"}
        for number, (point, when, must) in enumerate((one, other), 1)
    ]
    return car(requirements=rows, **cells)


@pytest.mark.parametrize(
    ("one", "other", "state"),
    [
        (("LA1.1", "SW1=on", "live"), ("LA1.1", "key=run", "dead"), {"key": "run", "SW1": "on"}),
        (("LA1.1", "key=off", "floating"), ("LA1.1", "", ">= 9 V"), {"key": "off"}),
        (("W6", "key=run|start", "<= 1 A"), ("W6", "key=start", ">= 3 A"), {"key": "start"}),
        (("LA1.1", "", "> 5 V"), ("LA1.1", "SW1=on", "<= 5 V"), {"SW1": "on"}),
    ],
)
def test_two_that_rule_each_other_out_are_told_with_the_state_they_meet_in(one, other, state):
    [found] = [finding for finding in findings(pair(one, other), requirements) if finding.rule == "REQ-3"]
    assert (found.severity, found.at) == ("fault", ("R1", "R2", one[0]))
    assert dict(found.when) == state
    assert one[2] in found.wrong
    assert other[2] in found.wrong


@pytest.mark.parametrize(
    ("one", "other"),
    [
        # their conditions do not meet
        (("LA1.1", "SW1=on", "live"), ("LA1.1", "SW1=off", "dead")),
        # they do, in no state that can occur: no starter, so it never cranks
        (("LA1.1", "engine=cranking", "live"), ("LA1.1", "engine=cranking", "dead")),
        # a floating point is dead, and 5 V is both
        (("LA1.1", "key=off", "dead"), ("LA1.1", "", "floating")),
        (("LA1.1", "", ">= 5 V"), ("LA1.1", "", "<= 5 V")),
        # another point; volts beside amps
        (("LA1.1", "key=run", "live"), ("LA1.2", "key=run", "dead")),
        (("LA1.1", "key=run", "live"), ("LA1.1", "key=run", "<= 0.1 A")),
    ],
)
def test_two_that_can_both_be_kept_are_not(one, other):
    assert [found.rule for found in findings(pair(one, other), requirements) if found.rule == "REQ-3"] == []


def test_one_asked_with_a_plug_off_and_one_with_none_off_do_not_meet():
    plug = [{"id": "C1", "part": "LA1", "terminals": "1 2"}]
    job = pair(("F1.1", "unplugged=C1", "dead"), ("F1.1", "", "live"), connectors=plug)
    assert [found.rule for found in findings(job, requirements)] == ["REQ-1"]


def lifted_body(point: str):
    """A long thin battery earth lifts the body by a volt; a second lamp hangs on it, its own switch open."""
    return car(
        changed={"W1": {"size_mm2": "0.5", "length_mm": "20000"}},
        parts=[{"id": "SW2", "kind": "switch"}, {"id": "LA2", "kind": "lamp", "settings": "watt=21"}],
        wires=[wire("W20", "F1.2", "SW2.1"), wire("W21", "SW2.2", "LA2.1"), wire("W22", "LA2.2", "body")],
        requirements=[{"id": "R1", "point": point, "when": "SW2=off", "must": "dead", "why": "because"}],
    )


def test_a_feed_that_only_follows_the_lifted_body_is_dead():
    assert codes(lifted_body("LA2.1"), requirements) == []


def test_the_lifted_body_itself_is_not():
    [one] = findings(lifted_body("body"), requirements)
    assert (one.rule, one.at[0]) == ("REQ-1", "body")
    assert one.found == pytest.approx(1.2, abs=0.3)
