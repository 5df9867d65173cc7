"""Mends that hold are offered, and what would harm something is not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache

import pytest

from loomwright.car import Car
from loomwright.job.job import Job
from loomwright.refusals import OutOfReach, Stopped
from loomwright.trials.edits import AddedRow, ChangedCell, applied
from loomwright.trials.in_turn import mended_in_turn
from loomwright.trials.mend import Mends, mends_plain
from loomwright.trials.trying import found_in
from tests.states.rules.engine_car import engine_car
from tests.states.small_jobs import Row, car, wire

SECOND: tuple[Row, ...] = (
    {"id": "LA2", "kind": "lamp", "circuit": "second", "settings": "watt=21"},
    {"id": "SW2", "kind": "switch"},
    {"id": "F2", "kind": "fuse", "settings": "rating_a=10"},
    {"id": "BUS", "kind": "busbar"},
)
SECOND_CIRCUIT: tuple[Row, ...] = ({"id": "second", "class": "lighting", "feed": "30"},)
SECOND_WIRES: tuple[Row, ...] = (
    wire("W20", "BAT.+", "BUS.1", "6", "200"),
    wire("W21", "KEY.15", "F2.1", "2.5", "300"),
    wire("W22", "F2.2", "SW2.1"),
    wire("W23", "SW2.2", "LA2.1", circuit="second"),
    wire("W24", "LA2.2", "body", circuit="second"),
)


def second_lamp(changed: Mapping[str, Mapping[str, str]] | None = None, without: Sequence[str] = ()) -> Job:
    """The small car with a second lamp that belongs to 30 and is fed from 15."""
    return car(parts=SECOND, circuits=SECOND_CIRCUIT, wires=SECOND_WIRES, changed=changed, without=without)


def mends(job: Job, rule: str, place: str = "", most: int = 2) -> Mends:
    """The mends of the finding of a rule at a place."""
    asked = Car(job)
    finding = found_in(asked.check().findings, rule, place)
    assert finding is not None, [(one.rule, one.at) for one in asked.check().findings]
    return asked.mends(finding, most=most)


def cells(found: Mends, number: int = 0) -> set[tuple[str, str, str]]:
    """Row, column and new text of every cell a mend changes."""
    return {(e.row, e.column, e.new) for e in found.offered[number].edits if isinstance(e, ChangedCell)}


def rows(found: Mends, number: int = 0) -> list[Mapping[str, str]]:
    """The rows a mend adds."""
    return [edit.cells for edit in found.offered[number].edits if isinstance(edit, AddedRow)]


def faults(job: Job) -> list[tuple[str, str]]:
    """Rule and first place of every fault."""
    return [(one.rule, one.at[0]) for one in Car(job).check().findings if one.severity == "fault"]


def made(job: Job, found: Mends, number: int = 0) -> Job:
    """The job with a mend made."""
    return applied(job, found.offered[number].edits)


def test_a_free_end_is_joined_to_the_terminal_that_misses_it():
    job = car(changed={"W6": {"to": ""}})
    found = mends(job, "NET-1", "W6")
    assert cells(found) == {("W6", "to", "LA1.1")}
    assert faults(made(job, found)) == []
    assert {one.rule for one in found.offered[0].gone} == {"NET-1", "NET-3"}


def test_a_lost_earth_gets_a_wire_with_its_size_and_length():
    job = car(without=["W7"])
    found = mends(job, "NET-1", "LA1.2")
    (row,) = rows(found)
    assert (row["from"], row["to"], row["size_mm2"], row["colour"]) == ("LA1.2", "body", "1.5", "BN")
    assert float(row["length_mm"]) > 0.0
    assert faults(made(job, found)) == []


def test_an_earth_on_the_fed_side_of_a_lamp_is_not_offered():
    found = mends(car(changed={"W6": {"to": ""}}), "NET-1", "LA1.1")
    assert [one for one in found.turned if "earth wire from LA1.1" in one.says]
    assert all(not rows(found, number) for number in range(len(found.offered)))


def test_a_fuse_too_large_is_fused_down():
    job = car(changed={"F1": {"settings": "rating_a=30"}})
    found = mends(job, "PRO-2", "F1")
    assert {("F1", "settings", "rating_a=20"), ("F1", "settings", "rating_a=25")} == cells(found) | cells(found, 1)
    assert faults(made(job, found)) == []
    # the one that brings least stands first
    assert [len(one.came) for one in found.offered] == sorted(len(one.came) for one in found.offered)


def test_a_wire_too_thin_is_wired_up_and_no_thinner_than_cures():
    found = mends(car(changed={"W7": {"length_mm": "30000", "size_mm2": "0.5"}}), "DRP-1", "W7")
    assert cells(found) == {("W7", "size_mm2", "1.5")}
    assert [one.why for one in found.turned] == ["the finding stays"] * 2


def test_the_feed_of_a_lamp_of_thirty_is_moved_to_a_bar_that_is_live_always():
    job = second_lamp()
    found = mends(job, "LIV-1", "LA2")
    assert cells(found) == {("W21", "from", "BUS.2")}
    assert faults(made(job, found)) == []


def test_a_feed_that_another_lamp_shares_is_not_moved_from_under_it():
    # LA1 belongs to 15 and now hangs behind the same fuse
    job = second_lamp(changed={"W5": {"from": "F2.2"}})
    found = mends(job, "LIV-1", "LA2", most=20)
    assert found.offered
    for number in range(len(found.offered)):
        assert "W21" not in {row for row, _, _ in cells(found, number)}
    shared = [one.why for one in found.turned if one.says.startswith("Take W21")]
    assert shared
    assert all("LA1.filament would work where its feed is dead" in why for why in shared)


def test_no_switch_is_left_out_of_the_way():
    found = mends(second_lamp(), "LIV-1", "LA2", most=20)
    past = [one for one in found.turned if one.says.startswith("Take W23, the feed of LA2")]
    assert past
    assert all("W23" not in {row for row, _, _ in cells(found, number)} for number in range(len(found.offered)))


@cache
def horn_car() -> Job:
    """A horn whose relay is wired the wrong way round for its diode."""
    return car(
        parts=[
            {"id": "K1", "kind": "relay", "settings": "suppression=diode"},
            {"id": "F2", "kind": "fuse", "settings": "rating_a=10"},
            {"id": "HORN", "kind": "horn", "circuit": "horn"},
            {"id": "RING", "kind": "switch"},
        ],
        circuits=[{"id": "horn", "class": "signalling", "feed": "30"}],
        wires=[
            wire("W11", "BAT.+", "F2.1", "2.5", "200"),
            wire("W12", "F2.2", "K1.30"),
            wire("W13", "K1.30", "K1.85"),
            wire("W14", "K1.86", "RING.1"),
            wire("W15", "RING.2", "body"),
            wire("W16", "K1.87", "HORN.+", circuit="horn"),
            wire("W17", "HORN.-", "body", circuit="horn"),
        ],
    )


def test_a_relay_the_wrong_way_round_for_its_diode_is_turned():
    found = mends(horn_car(), "NET-4", "K1")
    assert cells(found) == {("W13", "to", "K1.86"), ("W14", "from", "K1.85")}
    assert faults(made(horn_car(), found)) == []


def test_an_unfused_wire_gets_a_fuse_with_rating_family_and_tap():
    extra = [row for row in SECOND if row["id"] in ("LA2", "SW2")]
    wires = [wire("W21", "BAT.+", "SW2.1", "1.5", "900"), *SECOND_WIRES[3:]]
    job = car(parts=extra, circuits=SECOND_CIRCUIT, wires=wires)
    found = mends(job, "PRO-1", "W21")
    fuse, tap = rows(found)
    assert fuse["kind"] == "fuse"
    # 21 W at 13.5 V is 1.6 A: three quarters of 3 A carries it
    assert fuse["settings"] == "rating_a=3; family=blade_c"
    assert (tap["from"], tap["to"]) == ("BAT.+", f"{fuse['id']}.1")
    assert ("W21", "from", f"{fuse['id']}.2") in cells(found)
    assert faults(made(job, found)) == []


def test_a_switch_too_small_works_a_relay():
    job = car(
        changed={"SW1": {"settings": "rating_a=1"}},
        parts=[{"id": "BUS", "kind": "busbar"}],
        wires=[wire("W20", "BAT.+", "BUS.1", "6", "200")],
    )
    found = mends(job, "RAT-1", "SW1")
    assert {row["kind"] for row in rows(found) if "kind" in row} == {"relay", "fuse"}
    # no wire of the car has a colour: a feed is red, behind its fuse with a tracer, and what goes to earth is brown
    coloured = {
        a["from"].partition(".")[0][:1] + ">" + a["to"][:1]: a.get("colour") for a in rows(found) if "kind" not in a
    }
    assert coloured == {"B>F": "RD", "F>K": "RD/BK", "K>b": "BN", "K>L": None}
    assert faults(made(job, found)) == []


def test_no_larger_switch_is_made_up():
    # nothing to feed a relay from: an old switch is not swapped for one that is only a figure
    found = mends(car(changed={"SW1": {"settings": "rating_a=1"}}), "RAT-1", "SW1")
    assert found.offered == ()


def test_a_charge_lamp_that_feeds_back_gets_a_diode_towards_the_alternator():
    job = engine_car(without=["DCH", "L3"], changed={"L2": {"to": "ALT.D+"}})
    found = mends(job, "KEY-2", "L2")
    diode, short = rows(found)
    assert diode["kind"] == "diode"
    assert (short["from"], short["to"]) == ("CHG.2", f"{diode['id']}.a")
    assert cells(found) == {("L2", "from", f"{diode['id']}.k")}
    # the other way round stops the alternator being excited
    assert any("cathode towards CHG.2" in one.says for one in found.turned)


PAST_SELECTOR = {"E7": {"to": "KST.86"}, "E8": {"from": "SEL.start2", "to": "body"}}


def test_a_start_relay_earthed_past_the_selector_is_led_through_it():
    found = mends(engine_car(changed=PAST_SELECTOR), "KEY-1", "KST")
    assert cells(found) == {("E9", "to", "SEL.start1")}


def test_a_start_relay_without_earth_is_not_earthed_past_the_selector():
    found = mends(engine_car(changed=PAST_SELECTOR, without=["E9"]), "NET-1", "KST.85")
    assert found.offered == ()
    (why,) = [one.why for one in found.turned if "earth wire from KST.85" in one.says]
    assert "goes in with the selector out of P and N" in why


def test_a_relay_earthed_past_its_driver_is_led_to_the_pin_of_its_need():
    needs = [{"id": "pump", "part": "KPM", "terminal": "85", "ability": "low_side", "rank": "1", "pin": "A6"}]
    past = engine_car(changed={"P6": {"to": "body"}}, needs=needs)
    assert ("KEY-5", "PMP") in faults(past)
    found = mends(past, "NET-1", "ECU.6")
    assert cells(found) == {("P6", "to", "ECU.6")}
    assert faults(made(past, found)) == faults(engine_car(needs=needs))


def test_a_wire_of_a_need_that_feeds_is_not_taken_from_earth():
    needs = [{"id": "pump", "part": "KPM", "terminal": "85", "ability": "high_side", "rank": "1", "pin": "A6"}]
    found = mends(engine_car(changed={"P6": {"to": "body"}}, needs=needs), "NET-1", "ECU.6")
    assert [one.says for one in (*found.offered, *found.turned) if one.says.startswith("Take P6")] == []


@pytest.mark.parametrize(
    ("sheet", "column"),
    [("drives", "when"), ("requirements", "must"), ("waived", "reason"), ("wires", "fitted"), ("parts", "kind")],
)
def test_no_mend_may_write_a_drive_a_requirement_a_waiver_or_take_a_part_out(sheet, column):
    edit = ChangedCell(sheet=sheet, row="W7", column=column, old="", new="removed")
    with pytest.raises(OutOfReach):
        applied(car(), [edit])


def test_the_first_mend_of_every_fault_in_turn_leaves_none():
    job = second_lamp(changed={"F1": {"settings": "rating_a=30"}}, without=["W7"])
    before = Car(job).check().findings
    assert len([one for one in before if one.severity == "fault"]) >= 3

    def ask(job, findings, finding, tell):
        return Car(job).mends(finding, most=1, among=findings)

    turned = mended_in_turn(job, before, ask)
    assert [one for one in turned.left if one.severity == "fault"] == []
    assert faults(turned.job) == []
    assert all(step.mend is not None for step in turned.steps)


def test_trying_can_be_stopped():
    asked = Car(second_lamp())
    finding = found_in(asked.check().findings, "LIV-1")
    assert finding is not None

    def stop(done: int, of: int) -> None:
        raise Stopped(done, of)

    with pytest.raises(Stopped):
        asked.mends(finding, stop)


def test_the_plain_form_says_row_column_old_and_new():
    plain = mends_plain(mends(second_lamp(), "LIV-1", "LA2"))
    assert plain["offered"][0]["edits"][0] == {
        "do": "set",
        "sheet": "wires",
        "row": "W21",
        "column": "from",
        "old": "KEY.15",
        "new": "BUS.2",
    }
