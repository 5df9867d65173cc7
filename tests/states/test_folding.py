"""Consequences are found beneath their roots, and the asking grows with the job, not with its square."""

from __future__ import annotations

import pytest

from loomwright.car import Car
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network
from loomwright.network.records import Changes, Short
from loomwright.states.asking import folding, kept_somewhere
from loomwright.states.asking.carried import Carried
from loomwright.states.asking.search import search
from loomwright.states.asking.telling import told_of
from loomwright.states.rules import net, requirements
from loomwright.tables.kinds import load_kinds
from tests.states.rules.engine_car import DRIVES, PINS, engine_car
from tests.states.small_jobs import car, findings, scene, wire


def lamps(count: int):
    """So many lamps behind one switch, each with its earth lost."""
    parts = [{"id": f"LB{k}", "kind": "lamp", "settings": "watt=5"} for k in range(count)]
    return car(parts=parts, wires=[wire(f"W9{k}", "SW1.2", f"LB{k}.1") for k in range(count)])


def behind_a_relay(without=()):
    """A second lamp behind a relay whose coil has lost its earth."""
    return car(
        parts=[{"id": "K1", "kind": "relay"}, {"id": "LA2", "kind": "lamp"}],
        wires=[
            wire("W10", "F1.2", "K1.30"),
            wire("W11", "K1.87", "LA2.1"),
            *([] if "W12" in without else [wire("W12", "LA2.2", "body")]),
            wire("W13", "SW1.2", "K1.86"),
        ],
    )


def asked(job) -> tuple[int, int, int]:
    """Roots with something beneath them, networks built with a trial, questions asked again."""
    seen = scene(job)
    found = search(seen.compiled, net.watches(seen))
    told = [*net.sheet_findings(seen), *(told_of(seen.compiled, found.space, one) for one in found.broken)]
    built: list[Changes] = []
    questions: list[int] = []

    def with_trial(trial: Changes):
        built.append(trial)
        return compile_network(build_network(job, load_kinds(), trial))

    def counted(name, beside, brokens, make):
        questions.append(len(brokens))
        return make(range(len(brokens)))

    findings = folding.folded(told, found.space, found.states, with_trial, counted)
    return sum(bool(one.folded) for one in findings), len([one for one in built if one != Changes()]), sum(questions)


@pytest.mark.parametrize("count", [2, 4, 12])
def test_roots_apart_are_mended_in_one_network_and_each_asks_its_own_questions(count: int):
    assert asked(lamps(count)) == (count, 1, count)


def test_where_all_lamps_together_would_blow_the_fuse_half_of_them_are_mended_at_once():
    # sixty lamps of 5 W draw more than twice what the fuse of 10 A is made for, thirty do not
    assert asked(lamps(60)) == (60, 3, 120)


def test_two_roots_of_one_question_are_mended_one_after_the_other():
    # the lamp's own earth and that of its relay are lost: neither bridge alone lights it, both together would
    assert asked(behind_a_relay(without=["W12"])) == (0, 2, 2)
    assert asked(behind_a_relay()) == (1, 1, 1)


def test_a_limit_that_a_lamp_elsewhere_takes_off_by_a_hair_is_no_consequence_of_its_lost_earth():
    # lit, the other lamp would draw the volts down by a few millivolts, and this one would keep its limit
    def with_limit(most_a: float):
        row = {"id": "Q1", "point": "W7", "when": "key=run, SW1=on", "must": f"<= {most_a:.6f} A", "why": "asked"}
        return car(
            parts=[{"id": "LB0", "kind": "lamp", "settings": "watt=5"}],
            wires=[wire("W90", "SW1.2", "LB0.1")],
            requirements=[row],
        )

    begun, lit = Car(with_limit(99.0)), Changes(shorts=(Short("LB0.2", "body"),))
    state = {"key": "run", "SW1": "on"}
    alone_a, beside_a = (begun.solve(state, changes=changes).amps["W7"] for changes in (Changes(), lit))
    assert alone_a > beside_a
    found = findings(with_limit((alone_a + beside_a) / 2), net, requirements)
    assert [one.rule for one in found if "W7" in one.at] == ["REQ-1"]


def test_a_limit_that_is_kept_only_because_the_trial_stops_the_charging_is_no_consequence():
    """The charge lamp's lead open on trial: no excitation, 12 V in place of 14, and less current everywhere."""
    job = engine_car(
        without=["L2", "L3"],
        wires=[wire("L9", "CHG.2", "ALT.D+", "1", circuit="warning")],
        requirements=[{"id": "Q1", "point": "PMP.+", "when": "key=run, engine=running", "must": "<= 13 V"}],
    )
    roots = {one.rule: one for one in Car(job).check().findings if one.severity == "fault"}
    assert "KEY-2" in roots
    assert "REQ-1" in roots
    assert "REQ-1" not in [inner.rule for inner in roots["KEY-2"].folded]


def test_a_figure_that_is_cured_where_it_is_plainest_and_not_where_it_is_worst_is_no_consequence():
    """Key off: 55 W on the wrong feed are all that flows. Key in run: 21 W of another lamp break 1 A alone."""
    job = car(
        parts=[{"id": "LA2", "kind": "lamp", "circuit": "work", "settings": "watt=55"}],
        changed={"F1": {"settings": "rating_a=20"}},
        wires=[wire("W10", "F1.2", "LA2.1"), wire("W11", "LA2.2", "body")],
        requirements=[{"id": "Q1", "point": "W3", "when": "", "must": "<= 1 A"}],
    )
    found = [one for one in Car(job).check().findings if one.severity == "fault"]
    late = next(one for one in found if one.rule == "LIV-1")
    assert "REQ-1" in [one.rule for one in found]
    assert "REQ-1" not in [inner.rule for inner in late.folded]


def test_a_bridge_acts_on_what_a_relay_switches_and_on_nothing_beside_it():
    seen = scene(behind_a_relay())
    nodes = Carried(seen.compiled).by(Changes(shorts=(Short("K1.85", "body"),)))
    assert nodes is not None
    assert {seen.node("K1.85"), seen.node("LA2.1")} <= nodes
    assert seen.node("LA1.1") not in nodes


def test_a_cut_and_a_bridge_between_posts_may_act_on_everything():
    carried = Carried(scene(car()).compiled)
    assert carried.by(Changes(opened=("W6",))) is None
    assert carried.by(Changes(shorts=(Short("BAT.+", "body"),))) is None


def two_lamps_on_a_lost_plate():
    """Two lamps of two switches whose shared earth is lost, and a third beside one of them that has its own."""
    lamps = [{"id": id, "kind": "lamp", "settings": "watt=5"} for id in ("LB1", "LB2", "LB3")]
    return car(
        parts=[*lamps, {"id": "SW2", "kind": "switch"}],
        metals=[{"id": "plate", "name": "plate on rubber"}],
        wires=[
            wire("W90", "SW1.2", "LB1.1"),
            wire("W91", "LB1.2", "plate"),
            wire("W92", "KEY.15", "SW2.1"),
            wire("W93", "SW2.2", "LB2.1"),
            wire("W94", "LB2.2", "plate"),
            wire("W95", "SW2.2", "LB3.1"),
            wire("W96", "LB3.2", "body"),
        ],
    )


def test_a_bridge_to_an_earth_that_lamps_share_acts_on_the_feed_of_each():
    # through the lost plate the one switch feeds the other's lamps from behind
    seen = scene(two_lamps_on_a_lost_plate())
    nodes = Carried(seen.compiled).by(Changes(shorts=(Short("plate", "body"),)))
    assert nodes is not None
    assert {seen.node("LB1.1"), seen.node("LB2.1"), seen.node("LB3.1"), seen.node("SW2.2")} <= nodes


def test_a_bridge_to_a_lamps_own_lost_earth_does_not_act_on_its_feed():
    seen = scene(lamps(1))
    nodes = Carried(seen.compiled).by(Changes(shorts=(Short("LB0.2", "body"),)))
    assert nodes is not None
    assert seen.node("SW1.2") not in nodes


@pytest.mark.parametrize("hangs_on_too_much", [False, True])
def test_what_works_only_with_the_engine_hot_and_running_lies_beneath_its_lost_earth(monkeypatch, hangs_on_too_much):
    """A fan that the controller drives from 95 degrees on works in none of the plainest states of a large car."""
    if hangs_on_too_much:
        monkeypatch.setattr(kept_somewhere, "deciding_states", lambda space, asked: [None] * len(asked))
        monkeypatch.setattr(kept_somewhere, "_ASKED_UP_TO", (0, 2))
    lost = engine_car(
        without=["W2"],
        wires=[
            wire("N1", "BAT.+", "FN.1", "6", "300"),
            wire("N2", "FN.2", "FAN.+", "4"),
            wire("N3", "FAN.-", "ECU.7", "4"),
        ],
        parts=[
            {"id": "FN", "kind": "fuse", "settings": "rating_a=30"},
            {"id": "FAN", "kind": "fan", "settings": "running_a=10; inrush_a=30"},
        ],
        pins=(*PINS, {"id": "A7", "part": "ECU", "terminal": "7", "abilities": "low_side", "max_a": "40"}),
        drives=(*DRIVES, {"output": "A7", "when": "engine=running, coolant_c>=95"}),
    )
    faults = [one for one in Car(lost).check().findings if one.severity == "fault" and one.rule.startswith("NET")]
    assert [(one.rule, one.at[0]) for one in faults] == [("NET-1", "engine")]
    assert ("NET-3", "FAN") in [(inner.rule, inner.at[0]) for inner in faults[0].folded]


def test_what_a_blown_fuse_leaves_dead_lies_beneath_it():
    job = car(
        parts=[{"id": "HE", "kind": "heater", "settings": "ohm=0.3"}, {"id": "LA2", "kind": "lamp"}],
        wires=[
            wire("H1", "F1.2", "HE.1"),
            wire("H2", "HE.2", "body"),
            wire("H3", "F1.2", "LA2.1"),
            wire("H4", "LA2.2", "body"),
        ],
    )
    faults = {(one.rule, one.at[0]): one for one in Car(job).check().findings if one.severity == "fault"}
    dead = {inner.at[0] for inner in faults["RAT-1", "F1"].folded if inner.rule == "NET-3"}
    assert dead == {"HE", "LA1", "LA2"}
    assert [key for key in faults if key[0] == "NET-3"] == []


def two_that_no_switch_puts_out(most_a: str):
    """Two fog lamps of 21 W on the battery, and what the wire before them may carry with the key off."""
    return car(
        parts=[
            {"id": f"FG{side}", "kind": "lamp", "role": "fog_front", "settings": f"watt={watt}"}
            for side, watt in (("L", 21), ("R", 20))
        ],
        wires=[
            *(wire(f"X{side}", "F1.2", f"FG{side}.1") for side in "LR"),
            *(wire(f"Y{side}", f"FG{side}.2", "body") for side in "LR"),
        ],
        requirements=[{"id": "R1", "point": "W3", "when": "key=off", "must": f"<= {most_a} A", "why": "it stands"}],
    )


def test_a_figure_that_goes_only_with_two_roots_lies_beneath_the_larger_and_names_the_other():
    found = Car(two_that_no_switch_puts_out("1")).findings()
    roots = {one.at[0]: one for one in found if one.rule == "LMP-2"}
    assert "REQ-1" not in {one.rule for one in found}
    (beneath,) = [one for one in roots["FGL"].folded if one.rule == "REQ-1"]
    assert "it goes with LMP-2 at FGR mended too" in beneath.mend
    assert "FGR" in beneath.touches


def test_a_figure_that_several_roots_together_do_not_cure_stands_by_itself():
    # the key's own car draws nothing with the key off, so less than nothing is never kept
    found = Car(two_that_no_switch_puts_out("-1")).findings()
    assert "REQ-1" in {one.rule for one in found}
