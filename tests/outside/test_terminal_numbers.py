"""Terminal numbers beside explanations of DIN 72552: what each number means, where our kinds and our drawings use it.

Typed from the explanations (`din-72552` of the list of sources) on 2026-11-25, read once: number and what it is, in
one or two words of the explanation. What our table has from memory is not held against anything here.
"""

from __future__ import annotations

import pytest

from loomwright.drawings.circuit_drawing import circuit_drawings, laid_circuits
from loomwright.drawings.symbols.items import Text
from loomwright.job.reading import job_from_text
from loomwright.tables.kinds import load_kinds
from loomwright.tables.load import read_rows

READ = {
    "1": ("coil", "low"),
    "4": ("coil", "high tension"),
    "15": ("plus", "ignition"),
    "17": ("glow", "start"),
    "19": ("glow", "preheat"),
    "29": ("battery", "crash"),
    "30": ("battery plus", "direct"),
    "30a": ("second battery",),
    "31": ("battery minus",),
    "31b": ("return", "switch"),
    "32": ("motor", "return"),
    "33": ("motor", "main"),
    "33a": ("self-park",),
    "50": ("starter",),
    "85": ("relay coil", "return"),
    "86": ("relay coil", "feed"),
}
OURS = ("15x",)
"""Of the trade, in no explanation that was read: 15 without what is off while cranking."""
KINDS = load_kinds()
TABLE = {row["terminal"]: row for row in read_rows("terminals")}


@pytest.mark.parametrize("number", READ)
def test_a_number_means_what_the_explanations_say(number):
    assert TABLE[number]["grade"] == "read"
    assert [word for word in READ[number] if word not in TABLE[number]["meaning"]] == []


def test_no_number_is_graded_read_that_was_not():
    assert {number for number, row in TABLE.items() if row["grade"] == "read"} == set(READ)


@pytest.mark.parametrize(
    ("kind", "numbers"),
    [
        ("relay", {"30", "85", "86", "87", "87a", "87b"}),
        ("key_switch", {"30", "15", "50", "75", "58"}),
        ("starter", {"30", "50", "15a"}),
        ("coil_plain", {"15", "1"}),
        ("wiper", {"53", "53a", "53b", "53e", "31b", "31"}),
        ("flasher_electronic", {"49", "49a", "31"}),
        ("lamp_head", {"56a", "56b", "31"}),
        ("ballast", {"15", "15a"}),
    ],
)
def test_kinds_use_the_numbers_for_what_they_are(kind, numbers):
    own = {one.name for one in KINDS[kind].terminals}
    assert numbers <= own
    assert [one for one in own if one[0].isdigit() and one not in TABLE and one not in OURS] == []


def test_the_coil_lies_between_86_and_85_and_the_make_contact_between_30_and_87():
    pairs = {one.name: set(one.between) for one in KINDS["relay"].elements}
    assert {"85", "86"} in pairs.values()
    assert {"30", "87"} in pairs.values()
    assert {"30", "87a"} in pairs.values()


def test_a_drawing_prints_the_feed_of_a_coil_above_its_return():
    job = job_from_text(
        {
            "circuits": [{"id": "fan"}],
            "parts": [
                {"id": "B", "kind": "battery"},
                {"id": "K", "kind": "relay", "circuit": "fan"},
                {"id": "M", "kind": "fan", "circuit": "fan"},
            ],
            "wires": [
                {"id": "W1", "from": "B.+", "to": "K.86", "circuit": "fan"},
                {"id": "W2", "from": "K.85", "to": "body", "circuit": "fan"},
                {"id": "W3", "from": "B.+", "to": "K.30", "circuit": "fan"},
                {"id": "W4", "from": "K.87", "to": "M.+", "circuit": "fan"},
                {"id": "W5", "from": "M.-", "to": "body", "circuit": "fan"},
                {"id": "W6", "from": "body", "to": "B.-", "circuit": "fan"},
            ],
        }
    )
    (drawing,) = circuit_drawings(laid_circuits(job, KINDS))
    heights = {item.text: item.y_mm for item in drawing.items if isinstance(item, Text)}
    assert heights["86"] < heights["85"]
    assert heights["30"] < heights["87"]
