"""A truth table says of every combination what a state solved alone says, and of a relay what its past changes."""

from __future__ import annotations

import random
from itertools import product

import pytest

from loomwright.car import Car
from loomwright.job.reading import job_from_text
from loomwright.refusals import OutOfReach
from loomwright.states.truth.asked import asked_points, asked_variables, deciding_variables
from loomwright.states.truth.table import TruthTable, truth_table
from tests.states.random_jobs import random_sheets
from tests.states.small_jobs import car, wire

SYSTEM_V = 12.0
HOLDING = {
    "parts": [
        {"id": "K1", "kind": "relay"},
        {"id": "PB", "kind": "switch"},
        {"id": "LA2", "kind": "lamp", "settings": "watt=21"},
    ],
    "wires": [
        wire("W11", "KEY.15", "PB.1"),
        wire("W12", "PB.2", "K1.86"),
        wire("W13", "K1.85", "body"),
        wire("W14", "KEY.15", "K1.30"),
        wire("W15", "K1.87", "K1.86"),
        wire("W16", "K1.87", "LA2.1"),
        wire("W17", "LA2.2", "body"),
    ],
}
"""A relay that holds itself in through its own contact, once a push button has pulled it."""


def _table(of: Car, points: str, over: str, most: int = 10_000, **more: object) -> TruthTable:
    return truth_table(
        of.compiled,
        asked_points(of.compiled, points),
        asked_variables(of.compiled, over),
        at=more.pop("at", {}),  # type: ignore[arg-type]
        before=more.pop("before", None),  # type: ignore[arg-type]
        system_v=SYSTEM_V,
        most=most,
    )


def _words(table: TruthTable) -> dict[tuple[str, ...], tuple[str, ...]]:
    return {row.values: tuple(cell.word for cell in row.cells) for row in table.rows}


def test_a_lamp_behind_key_and_switch_works_where_both_are_on():
    words = _words(_table(Car(car()), "LA1,LA1.1,W6", "key=off|run, SW1"))
    assert words == {
        ("off", "off"): ("none", "dead", "none"),
        ("off", "on"): ("none", "dead", "none"),
        ("run", "off"): ("none", "dead", "none"),
        ("run", "on"): ("works", "live", "carries"),
    }


def test_the_figures_are_those_of_a_lamp_on_its_line():
    # 21 W at 12 V is 1.75 A; by its law the current grows with the volts to the power of 0.55
    (row,) = _table(Car(car()), "LA1,LA1.1,LA1.2", "key=run", at={"SW1": "on"}).rows
    amps, plus, minus = (cell.number or 0.0 for cell in row.cells)
    assert amps == pytest.approx(1.75 * ((plus - minus) / 12.0) ** 0.55, rel=1e-3)
    assert 12.3 < plus < 12.6


def test_a_terminal_behind_two_open_contacts_floats():
    words = _words(_table(Car(car(without=("W6",))), "SW1.1,SW1.2", "key=off, SW1=off"))
    assert words == {("off", "off"): ("floating", "floating")}


def test_what_cannot_occur_is_left_out_and_counted():
    # no starter in the car: of four keys by four of the engine the four that crank cannot be
    table = _table(Car(car()), "LA1", "key,engine")
    assert (len(table.rows), table.impossible) == (12, 4)
    assert all(row.values[1] != "cranking" for row in table.rows)


def test_a_relay_that_holds_itself_is_told_with_the_state_it_comes_from():
    table = _table(Car(car(**HOLDING)), "K1,LA2", "key=off|run, PB")
    words = _words(table)
    assert words["run", "off"] == ("released", "none")
    assert words["run", "on"] == ("pulled", "works")
    other = {row.values: row.other for row in table.rows}
    held = other["run", "off"]
    assert held is not None
    assert held.before == {"PB": "on"}
    assert [cell.word for cell in held.cells] == ["pulled", "works"]
    assert [other[values] for values in other if values != ("run", "off")] == [None, None, None]


def test_a_state_before_that_is_named_is_come_from():
    table = _table(Car(car(**HOLDING)), "K1", "PB", at={"key": "run"}, before={"PB": "on"})
    assert _words(table) == {("off",): ("pulled",), ("on",): ("pulled",)}


def test_a_battery_gives_and_a_cut_lamp_carries_nothing():
    table = _table(Car(car(without=("W7",))), "BAT,LA1", "key=run, SW1=on")
    assert _words(table) == {("run", "on"): ("none", "none")}
    table = _table(Car(car()), "BAT", "key=run, SW1=on")
    assert _words(table) == {("run", "on"): ("gives",)}


def test_too_many_combinations_are_refused_with_what_makes_them():
    with pytest.raises(OutOfReach) as refused:
        _table(Car(car()), "LA1", "key,engine,SW1", most=10)
    assert refused.value.found == "32 (key 4, engine 4, SW1 2)"
    assert "without key it is 8" in refused.value.allowed


def test_names_that_the_car_does_not_have_are_refused_with_the_nearest():
    of = Car(car())
    for points, over, near in (("LA9", "key", "LA1"), ("LA1", "kee", "key")):
        with pytest.raises(OutOfReach) as refused:
            _table(of, points, over)
        assert f"nearest: {near}" in refused.value.allowed
    with pytest.raises(OutOfReach):
        _table(of, "LA1", "key=sideways")
    with pytest.raises(OutOfReach):
        _table(of, " , ", "key")


def test_what_decides_a_lamp_are_its_key_and_its_switch():
    of = Car(car(parts=[{"id": "SW9", "kind": "switch"}]))
    points = asked_points(of.compiled, "LA1")
    assert [one.name for one in deciding_variables(of.compiled, of.scene.cones, points, most=64)] == ["key", "SW1"]
    assert [one.name for one in deciding_variables(of.compiled, of.scene.cones, points, most=5)] == ["key"]


@pytest.mark.parametrize("seed", range(12))
def test_every_row_of_a_random_car_is_the_state_solved_alone(seed):
    of = Car(job_from_text(random_sheets(random.Random(seed))))
    dice = random.Random(seed + 1000)
    switches = [variable for variable in of.variables if variable.name.startswith("SW")]
    chosen = [one.name for one in dice.sample(switches, min(2, len(switches)))]
    over = ["key", *chosen]
    relays = sorted({device.name.partition(".")[0] for device in of.compiled.network.devices if device.what == "relay"})
    wires = dice.sample([wire.id for wire in of.job.wires], 3)
    nodes = dice.sample(sorted(name for name in of.compiled.node_of if "._" not in name), 4)
    table = _table(of, ",".join([*relays, *wires, *nodes]), ",".join(over))
    values = {variable.name: variable.values for variable in of.variables}
    assert [row.values for row in table.rows] == list(product(*(values[name] for name in over)))
    for row in table.rows:
        solved = of.solve(dict(zip(over, row.values, strict=True)))
        cells = dict(zip((point.name for point in table.points), row.cells, strict=True))
        for relay in relays:
            assert cells[relay].word == solved.relays[relay]
        for name in wires:
            assert cells[name].number == pytest.approx(solved.amps[name], abs=1e-9)
        for name in nodes:
            volts = solved.volts[name]
            assert (cells[name].number is None) == (volts is None)
            assert cells[name].number is None or cells[name].number == pytest.approx(volts, abs=1e-9)
            is_live = volts is not None and abs(volts) >= 9.0
            assert (cells[name].word == "live") == is_live
