"""JOB-1, JOB-2, JOB-3 and JOB-6: what the sheets themselves say."""

from __future__ import annotations

from loomwright.states.rules import headings, sheets
from tests.states.small_jobs import car, codes, findings, wire


def stalk(verified):
    """A switch whose contacts stand in the sheet."""
    return car(
        parts=[{"id": "ST", "kind": "switch_matrix"}, {"id": "LA2", "kind": "lamp"}],
        contacts=[
            {"part": "ST", "position": "off", "joins": "", "verified": verified},
            {"part": "ST", "position": "on", "joins": "30+58", "verified": verified},
        ],
        wires=[wire("W10", "F1.2", "ST.30"), wire("W11", "ST.58", "LA2.1"), wire("W12", "LA2.2", "body")],
    )


def test_untested_contacts_are_a_note_once_a_switch():
    assert codes(stalk("no"), sheets) == [("JOB-1", "note", "ST")]


def test_tested_contacts_and_those_without_a_word_are_none():
    assert codes(stalk("yes"), sheets) == []
    assert codes(stalk(""), sheets) == []


def plug(one, other):
    """A connector with two wires of given colours."""
    return car(
        connectors=[{"id": "C1", "part": "SW1", "terminals": "1 2"}],
        changed={"W5": {"colour": one}, "W6": {"colour": other}},
    )


def test_the_same_colour_and_tracer_twice_in_a_connector_is_a_note():
    [one] = findings(plug("WH/BU", "WH/BU"), sheets)
    assert (one.rule, one.severity, one.at) == ("JOB-2", "note", ("C1", "W5", "W6"))


def test_another_tracer_or_no_colour_is_none():
    assert codes(plug("WH/BU", "WH/BK"), sheets) == []
    assert codes(plug("", ""), sheets) == []


def test_the_same_colour_outside_one_connector_is_none():
    assert codes(car(changed={"W5": {"colour": "WH"}, "W6": {"colour": "WH"}}), sheets) == []


# JOB-3


def test_a_fuse_nobody_makes_is_a_fault_and_the_rest_is_still_answered():
    [one] = findings(car(changed={"F1": {"settings": "rating_a=75"}}), sheets)
    assert (one.rule, one.severity, one.at, one.found, one.allowed) == ("JOB-3", "fault", ("F1",), 75.0, 40.0)


def test_a_fuse_that_is_made_is_not_told():
    assert codes(car(changed={"F1": {"settings": "rating_a=40"}}), sheets) == []


# JOB-6


def test_a_misspelt_heading_with_something_below_it_is_a_warning():
    [one] = findings(car(changed={"W5": {"lenght_mm": "3000"}, "W6": {"lenght_mm": "800"}}), headings)
    assert (one.rule, one.severity, one.at) == ("JOB-6", "warning", ("W5", "W6"))
    assert one.label == "lenght_mm (column of the sheet wires)"
    assert "length_mm" in one.mend
    # of rows without a name the sheet is told
    reading = {"point": "LA1.1", "measure": "volts", "value": "12.1", "insrtument": "the old one"}
    [row] = findings(car(readings=[reading]), headings)
    assert (row.at, row.label) == (("readings",), "insrtument (column of the sheet readings)")


def test_an_empty_column_and_a_heading_of_ones_own_are_none():
    assert codes(car(changed={"W5": {"lenght_mm": " "}}), headings) == []
    assert codes(car(changed={"W5": {"bought_at": "the corner"}}), headings) == []
