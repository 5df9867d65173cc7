"""Needs with a pin and without, and the wires that are led to one or wait for it."""

from __future__ import annotations

import pytest

from loomwright.job.blanks import blank_cells
from loomwright.job.job import Job
from loomwright.job.pins_waiting import pins_given_in
from loomwright.job.rows import ControllerPin, Decision, Need, Wire

PINS = tuple(ControllerPin(id=name, part="ECU", terminal=name) for name in ("A1", "A2"))
NEED = Need(id="inj", part="INJ", terminal="2", ability="injector")
OPEN = Wire(id="W1", from_="INJ.2")


def test_a_need_without_a_pin_is_missing_and_its_wire_waits():
    found = pins_given_in(Job(needs=(NEED,), wires=(OPEN,), controller_pins=PINS))
    assert (found.missing, found.of, found.done) == (("inj",), 1, 0)
    assert (found.waiting, found.led) == ({"W1"}, set())


@pytest.mark.parametrize(
    "job",
    [
        Job(needs=(Need(id="inj", part="INJ", terminal="2", pin="A1"),), wires=(OPEN,)),
        Job(
            needs=(NEED,),
            wires=(OPEN,),
            decisions=(Decision(sheet="needs", row="inj", column="pin", value="A1"),),
        ),
    ],
    ids=["typed", "decided"],
)
def test_a_pin_that_is_typed_or_decided_leads_the_wire(job):
    found = pins_given_in(job)
    assert (found.missing, found.done) == ((), 1)
    assert (found.waiting, found.led) == (set(), {"W1"})


def test_a_wire_that_is_drawn_to_a_pin_gives_it_and_one_to_a_splice_does_not():
    drawn = Wire(id="W1", from_="ECU.A2", to="INJ.2")
    assert pins_given_in(Job(needs=(NEED,), wires=(drawn,), controller_pins=PINS)).missing == ()
    aside = Wire(id="W1", from_="SP.1", to="INJ.2")
    assert pins_given_in(Job(needs=(NEED,), wires=(aside,), controller_pins=PINS)).missing == ("inj",)


def test_of_a_choice_one_alternative_is_enough_and_of_needs_built_together_each_counts():
    choice = (
        Need(id="a", part="S", terminal="1", option="S/one"),
        Need(id="b", part="S", terminal="1", option="S/two"),
    )
    whole = tuple(Need(id=f"l{n}", part="SEL", terminal=f"{n}", option="SEL/coded") for n in (1, 2))
    given = Decision(sheet="needs", row="b", column="pin", value="A1")
    found = pins_given_in(Job(needs=(*choice, *whole), decisions=(given,)))
    assert (found.missing, found.of) == (("l1", "l2"), 3)
    assert pins_given_in(Job(needs=choice)).missing == ("S",)


@pytest.mark.parametrize(("pins", "blank"), [(("", ""), ["a", "b"]), (("A1", ""), [])])
def test_the_other_alternative_of_a_choice_that_is_built_is_no_blank_cell(pins, blank):
    choice = (("a", "S/one", pins[0]), ("b", "S/two", pins[1]))
    needs = tuple(Need(id=name, part="S", terminal="1", option=option, pin=pin) for name, option, pin in choice)
    assert [one.row for one in blank_cells(Job(needs=needs))] == blank


def test_a_wire_that_no_need_stands_at_does_not_wait():
    found = pins_given_in(Job(needs=(NEED,), wires=(Wire(id="W9", from_="LAMP.1"),)))
    assert found.waiting == set()
