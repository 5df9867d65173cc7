"""The paper as records: every wire, findings with their roots, a verdict, nothing that changes from day to day."""

from __future__ import annotations

from loomwright.findings import Finding
from loomwright.handover.paper import finding_entry, paper_of, verdict_of
from loomwright.handover.wire_list import wire_lines
from tests.handover.van import changed, rows, solved


def finding(severity: str = "fault", **more: object) -> Finding:
    """A finding with what every one has."""
    return Finding(**{"rule": "DRP-1", "severity": severity, "at": ("W7",), "wrong": "loses too much", **more})


def test_every_wire_stands_in_order_of_id_and_a_removed_one_says_so():
    lines = wire_lines(solved(rows())[0])
    assert [line.mark.id for line in lines] == [f"W{number}" for number in range(1, 25)]
    assert lines[22].notes == "removed"
    assert (lines[14].notes, lines[14].mark.colour, lines[14].size, lines[14].length) == ("kept", "BU", "2.5", "1000")
    assert lines[4].notes == "from the stud"


def test_what_is_not_decided_is_blank_and_named_as_provisional():
    job, kinds, compiled = solved(changed("wires", "W7", size_mm2="", length_mm=""))
    paper = paper_of(job, kinds, compiled, (), states_searched=1)
    assert (paper.wires[6].size, paper.wires[6].length) == ("", "")
    assert any(note.startswith("W7: length not given") for note in paper.provisional)
    assert any(note.startswith("W7: size not given") for note in paper.provisional)


def test_a_gauge_number_stays_beside_its_size():
    size = wire_lines(solved(changed("wires", "W7", size_mm2="16 AWG"))[0])[6].size
    assert size == "1.31 (16 AWG)"


def test_a_finding_is_taken_apart_for_print():
    entry = finding_entry(
        finding(
            label="W7 (lamp feed)",
            when=(("key", "run"), ("lights", "on")),
            found=1.2345,
            allowed=0.9,
            unit="V",
            source="common-practice",
            mend="use `2.5 mm²`",
            path=("BAT", "W3"),
            folded=(finding("note", rule="DRP-2", wrong="is old"),),
        )
    )
    assert entry.says == "Loses too much (1.24 V, allowed 0.9 V) [common-practice]."
    assert (entry.label, entry.when, entry.mend) == ("W7 (lamp feed)", "key=run, lights=on", "Use “2.5 mm²”.")
    assert entry.path == ("BAT", "W3")
    assert [(one.rule, one.severity, one.label, one.says) for one in entry.folded] == [
        ("DRP-2", "note", "W7", "Is old.")
    ]


def test_the_verdict_counts_each_severity():
    assert verdict_of((finding(), finding("note"), finding("note")), 12) == "1 fault, 2 notes in 12 states."


def test_the_title_block_has_a_date_only_where_one_is_given():
    van = solved(rows())
    paper = paper_of(*van, (), states_searched=1)
    assert (paper.title.title, paper.title.revision, paper.title.date) == ("small van", "none yet", "")
    assert paper_of(*van, (), states_searched=1, newest=7).title.revision == "7", "where a shelf keeps revisions"
    assert dict(paper.title.facts) == {
        "system": "12 V, negative earth",
        "judged at": "40 °C, cranking at -10 °C",
        "parts": "14",
        "wires": "23",
    }
    assert paper_of(*van, (), states_searched=1, date="2024-05-17").title.date == "2024-05-17"


def test_the_same_sheets_give_the_same_paper():
    assert paper_of(*solved(rows()), (), states_searched=1) == paper_of(*solved(rows()), (), states_searched=1)


def test_the_states_are_told_as_they_are_typed_and_the_rest_with_them():
    paper = paper_of(*solved(rows()), (), states_searched=1)
    assert [column.state for column in paper.states][-1] == "key=run, engine=idle, lights=on"
    assert paper.at_rest == "battery=full, ambient_c=40, coolant_c=40, brake=off, lights=off"
