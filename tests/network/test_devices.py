"""Things with two states: relays with memory, buzzing relays, motors that stall, fuses that blow."""

from __future__ import annotations

import pytest

from loomwright.network.solve import before_of, solve, values_of
from loomwright.refusals import OutOfReach
from tests.network.cars import compiled, job, solved

COIL_OHM = 85.0
NOTHING = pytest.approx(0.0, abs=1e-9)


def relay_behind(ohm: str):  # type: ignore[no-untyped-def]
    """A relay whose coil of 85 ohm is fed through a resistor; SW shorts the resistor."""
    return job(
        {"R": f"resistor; ohm={ohm}", "SW": "switch", "K": "relay", "LA": "lamp; watt=5"},
        [
            "W1 BAT.+ R.1", "W2 R.2 K.86", "W3 K.85 body", "W4 BAT.+ SW.1", "W5 SW.2 K.86",
            "W6 BAT.+ K.30", "W7 K.87 LA.1", "W8 LA.2 body", "W9 BAT.- body",
        ],
    )  # fmt: skip


@pytest.mark.parametrize(
    ("ohm", "from_rest", "from_pulled"),
    [
        # pull-in 7.2 V, drop-out 1.2 V of 12.6 V: 85/(85+R) must be over 0.5714 and over 0.0952
        ("63", "pulled", "pulled"),
        ("64.5", "released", "pulled"),
        ("800", "released", "pulled"),
        ("815", "released", "released"),
    ],
)
def test_a_relay_holds_with_less_than_it_needs_to_pull_in(ohm, from_rest, from_pulled):
    car = relay_behind(ohm)
    assert solved(car).relays["K"] == from_rest
    assert solved(car, before={"SW": "on"}).relays["K"] == from_pulled


def test_a_contact_follows_its_relay():
    car = relay_behind("100")
    assert solved(car).amps["LA.filament"] == NOTHING
    assert solved(car, before={"SW": "on"}).amps["LA.filament"] > 0.4


def test_a_hot_coil_needs_more_volts():
    # pull-in is a current: at 100 degC 85 ohm becomes 85 * 334.5 / 254.5 = 111.7, and 7.2 V become 9.46 V
    def at(place_c: str, ohm: str) -> str:
        car = job(
            {"R": f"resistor; ohm={ohm}"},
            ["W1 BAT.+ R.1", "W2 R.2 K.86", "W3 K.85 body", "W4 BAT.- body", "W5 BAT.+ K.30", "W6 K.87 body"],
            places=[{"id": "bay", "ambient_c": place_c}],
            parts=[{"id": "K", "kind": "relay", "place": "bay"}],
        )
        # the contact leads nowhere that matters: W5 and W6 only satisfy the sheet
        return solved(car, {"engine": "running"}).relays["K"]

    assert at("20", "60") == "pulled"
    assert at("100", "60") == "released"
    assert at("100", "30") == "pulled"


def test_a_relay_that_cuts_its_own_coil_is_named_as_buzzing():
    car = job(
        {"K": "relay", "SW": "switch"},
        ["W1 BAT.+ SW.1", "W2 SW.2 K.30", "W3 K.87a K.86", "W4 K.85 body", "W5 BAT.- body"],
    )
    assert solved(car).relays["K"] == "released"
    answer = solved(car, {"SW": "on"})
    assert answer.relays["K"] == "buzzing"
    assert answer.buzzing == ("K",)
    assert not answer.collapsed


def test_two_relays_that_chase_each_other_are_both_named():
    # each is fed through the other's contact so that one makes what the other breaks
    car = job(
        {"A": "relay", "B": "relay"},
        [
            "W1 BAT.+ A.30",
            "W2 A.87 B.86",
            "W3 B.85 body",
            "W4 BAT.+ B.30",
            "W5 B.87a A.86",
            "W6 A.85 body",
            "W7 BAT.- body",
        ],
    )
    assert set(solved(car).buzzing) == {"A", "B"}


def test_relays_that_hold_each_other_off_settle_one_way():
    car = job(
        {"A": "relay", "B": "relay"},
        [
            "W1 BAT.+ A.30",
            "W2 A.87a B.86",
            "W3 B.85 body",
            "W4 BAT.+ B.30",
            "W5 B.87a A.86",
            "W6 A.85 body",
            "W7 BAT.- body",
        ],
    )
    relays = solved(car).relays
    assert sorted(relays.values()) == ["pulled", "released"]


def test_a_chain_of_relays_settles():
    parts = {f"K{k}": "relay" for k in range(6)} | {"LA": "lamp"}
    wires = ["W0 BAT.+ K0.86", "W1 BAT.- body"]
    wires += [f"C{k} K{k}.85 body" for k in range(6)] + [f"F{k} BAT.+ K{k}.30" for k in range(6)]
    wires += [f"N{k} K{k}.87 K{k + 1}.86" for k in range(5)] + ["NL K5.87 LA.1", "NE LA.2 body"]
    answer = solved(job(parts, wires))
    assert set(answer.relays.values()) == {"pulled"}
    assert answer.amps["LA.filament"] > 0.4


def test_a_motor_runs_on_its_line():
    car = job({"M": "motor; running_a=5; inrush_a=20"}, ["W1 BAT.+ M.+", "W2 M.- body", "W3 BAT.- body"])
    answer = solved(car)
    across = answer.volts["M.+"] - answer.volts["M.-"]
    # straight through (13.5 V, 5 A), nothing at 1.5 V
    assert answer.amps["M.motor"] == pytest.approx(5.0 * (across - 1.5) / 12.0, rel=1e-4)


def test_a_motor_behind_a_lamp_never_starts():
    car = job(
        {"M": "motor; running_a=5; inrush_a=20", "LA": "lamp; watt=5"},
        ["W1 BAT.+ LA.1", "W2 LA.2 M.+", "W3 M.- body", "W4 BAT.- body"],
    )
    answer = solved(car)
    across = answer.volts["M.+"] - answer.volts["M.-"]
    # stalled it is 13.5 V / 20 A = 0.675 ohm: the lamp's 0.43 A leave 0.29 V on it
    assert answer.amps["M.motor"] == pytest.approx(across / 0.675, rel=1e-6)
    assert across == pytest.approx(0.29, abs=0.01)


def test_a_motor_behind_a_big_lamp_runs():
    car = job(
        {"M": "motor; running_a=0.5; inrush_a=2", "LA": "lamp; watt=55"},
        ["W1 BAT.+ LA.1", "W2 LA.2 M.+", "W3 M.- body", "W4 BAT.- body"],
    )
    answer = solved(car)
    assert answer.volts["M.+"] - answer.volts["M.-"] > 12.0
    assert answer.amps["M.motor"] == pytest.approx(0.45, abs=0.03)


@pytest.mark.parametrize(("ohm", "blown"), [("0.67", ()), ("0.60", ("F1",)), ("0.05", ("F1",))])
def test_a_fuse_blows_above_twice_its_rating(ohm, blown):
    # 12.6 V and 0.02 ohm of wires, joints and battery: 18.3 A, 20.3 A, and a short
    car = job(
        {"F1": "fuse; rating_a=10", "R": f"heater; ohm={ohm}"},
        ["W1 BAT.+ F1.1", "W2 F1.2 R.1", "W3 R.2 body", "W4 BAT.- body"],
    )
    answer = solved(car)
    assert answer.blown == blown
    assert (answer.amps["F1.fuse"] == NOTHING) == bool(blown)


def test_of_two_fuses_in_a_row_the_smaller_blows():
    car = job(
        {"F1": "fuse; rating_a=40", "F2": "fuse; rating_a=10", "R": "heater; ohm=0.12", "LA": "lamp"},
        [
            "W1 BAT.+ F1.1",
            "W2 F1.2 F2.1",
            "W3 F2.2 R.1",
            "W4 R.2 body",
            "W5 F1.2 LA.1",
            "W6 LA.2 body",
            "W7 BAT.- body",
        ],
    )
    answer = solved(car)
    assert answer.blown == ("F2",)
    assert answer.amps["LA.filament"] > 0.4, "what hangs on the larger stays fed"


def test_off_with_the_engine_turning_comes_from_run():
    car = job({"KEY": "key_switch"}, ["W1 BAT.+ KEY.30", "W2 KEY.15 body", "W3 BAT.- body"])
    made = compiled(car)
    off = values_of(made, {"key": "off", "engine": "running"})
    earlier = before_of(made, off)
    assert earlier is not None
    assert (earlier == values_of(made, {"key": "run", "engine": "running"})).all()
    assert before_of(made, values_of(made, {"key": "off"})) is None


@pytest.mark.parametrize(("state", "word"), [({"doors": "open"}, "a state variable"), ({"SW": "half"}, "half")])
def test_a_state_that_is_not_there_is_refused(state, word):
    with pytest.raises(OutOfReach) as said:
        solve(compiled(relay_behind("10")), state)
    assert said.value.found == word


def test_a_load_the_battery_cannot_hold_is_no_number_out_of_nowhere():
    # 500 W for ever down to 6 V from a battery of 0.5 ohm inside: 12.6^2 / 4 / 0.5 is 79 W at most
    car = job(
        {"BAT": "battery; internal_ohm=0.5", "C": "constant_load; watt=500"},
        ["W1 BAT.+ C.supply", "W2 C.earth body", "W3 BAT.- body"],
    )
    answer = solved(car)
    assert answer.collapsed or answer.volts["C.supply"] < 6.0
    assert all(volts is None or volts == volts for volts in answer.volts.values()), "no figure that is no number"
