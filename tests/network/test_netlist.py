"""The netlist: laws in words and figures, nothing solved in it, only what acts, memories with hysteresis."""

from __future__ import annotations

import re

import pytest

from loomwright.network.records import Law
from loomwright.network.solve import devices_on
from loomwright.writers.netlist import Netlist, netlist
from loomwright.writers.netlist_laws import LAW_WORDS, Gate, law_lines, law_words
from tests.network.cars import compiled, job

CAR = compiled(
    job(
        {"F1": "fuse; rating_a=10", "SW": "switch", "K": "relay", "LA": "lamp; watt=21", "M": "motor"},
        [
            "W1 BAT.+ F1.1",
            "W2 F1.2 SW.1",
            "W3 SW.2 K.86",
            "W4 K.85 body",
            "W5 BAT.+ K.30",
            "W6 K.87 LA.1",
            "W7 LA.2 body",
            "W8 BAT.+ M.+",
            "W9 M.- body",
            "W10 BAT.- body",
        ],
    )
)
STATE = {variable.name: variable.rest for variable in CAR.network.variables}
ON = {**STATE, "SW": "on"}


def settled(state: dict[str, str]) -> Netlist:
    """The car's netlist with its devices as they lie."""
    return netlist(CAR.network, state, devices=devices_on(CAR, state))


def test_the_reference_is_node_nought_and_every_point_touched_has_a_node():
    made = settled(ON)
    assert made.node_of["BAT.-"] == "0"
    assert {"BAT.+", "K.86", "LA.1", "body"} <= set(made.node_of)
    assert len(set(made.node_of.values())) == len(made.node_of)


def test_what_does_not_act_is_not_there():
    off, on = settled(STATE), settled(ON)
    assert "SW.contact" not in off.ammeter_of
    assert "SW.contact" in on.ammeter_of
    assert "K.make" not in off.ammeter_of
    assert "K.make" in on.ammeter_of
    assert "axle" not in on.node_of, "nothing touches it"


def test_each_law_is_told_in_words_and_each_element_in_figures():
    text = settled(ON).text
    assert f"*   {LAW_WORDS[Law.LAMP]}" in text
    assert "* LA.filament: lamp design_v=12 design_a=1.75 cold_ohm=0.571" in text
    assert "* BAT.cells: battery emf_v=12.6 discharge_siemens=125 charge_v=13" in text
    assert "power:" not in text, "no element of the car has that law"


def test_no_guess_of_an_answer_goes_in():
    for text in (settled(ON).text, netlist(CAR.network, ON).text):
        assert not re.search(r"^\.(nodeset|ic)\b", text, re.MULTILINE | re.IGNORECASE)
        assert " ic=" not in text.lower()


def test_left_to_itself_it_has_a_memory_for_each_device_and_no_switch_thrown():
    made = netlist(CAR.network, ON)
    assert set(made.gate_of) == {"K.coil", "M.motor", "F1.fuse"}
    assert f"* device F1.fuse, held\nVg{_index('F1.fuse')} {made.gate_of['F1.fuse']} 0 DC 0" in made.text
    assert "K.make" in made.ammeter_of, "it is there and waits for its relay"
    assert "\ntran " in made.text
    assert "\nop\n" not in made.text


def _index(name: str) -> int:
    return CAR.device_of[name]


@pytest.mark.parametrize(("start", "word"), [({}, 0), ({"K.coil": True}, 1)])
def test_a_memory_begins_as_it_is_told(start, word):
    text = netlist(CAR.network, ON, start=start).text
    assert f"Bt{_index('K.coil')} t{_index('K.coil')} 0 V = time<1m ? {word} :" in text


def test_names_of_inner_nodes_never_meet():
    made = netlist(CAR.network, ON)
    names = [line.split()[0].lower() for line in made.text.splitlines() if re.match(r"[RVBDIC]", line)]
    assert len(names) == len(set(names))


def test_an_open_element_has_no_line():
    assert law_lines("1", Law.LINEAR, (0.0, 0.0), "a", "b") == []
    assert law_lines("1", Law.BATTERY, (12.6, 0.0, 13.0, 0.0, 0.0), "a", "b") == []


def test_a_gate_scales_what_it_lets_act():
    gate = Gate(node="g1", on=True)
    [line] = law_lines("1", Law.LINEAR, (2.0, 0.0), "a", "b", (gate,))
    assert line == "B1 a b I = V(a,b)*2*exp(37*(max(0,min(1,5*V(g1)-2))-1))"


def test_words_name_every_figure():
    assert law_words(Law.CURRENT, (0.5, 6.0)) == "current amps=0.5 low_v=6"
    assert set(LAW_WORDS) == set(Law)
