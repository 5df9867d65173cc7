"""Every kind of part draws: a symbol of its own or a box, its terminals labelled, nothing on anything."""

from __future__ import annotations

import pytest

from loomwright.drawings.circuit_drawing import circuit_drawings, laid_circuits
from loomwright.drawings.content.symbol_table import drawn_pieces, load_drawn
from loomwright.drawings.symbols.boxes import ICON_HIGH_MM, ICON_WIDE_MM, icon
from loomwright.drawings.symbols.items import Drawing, Text, WireStroke
from loomwright.drawings.symbols.one_way import inline_symbol, reach
from loomwright.job.reading import job_from_text
from loomwright.tables.kinds import Kind, load_kinds
from loomwright.tables.load import read_toml
from tests.drawings.overlaps import texts_on_strokes, texts_on_texts, wires_on_wires, wires_through_symbols

KINDS = load_kinds()
LOW = ("-", "31", "case", "D-", "E", "earth", "L", "k", "2", "85")
PINS = {"A1": "supply", "A2": "power_earth", "A3": "low_side", "A4": "temperature_input"}
POSITIONS = (("off", ""), ("on", "30+49 15+L"), ("far", "30+49+L"))


def terminals(kind: Kind) -> list[str]:
    """The terminals that a test wires."""
    if kind.id == "controller":
        return list(PINS)
    if kind.id == "switch_matrix":
        return ["30", "15", "49", "L"]
    if kind.numbered:
        return ["1p", "1s", "2p", "2s"] if kind.terminals[0].name == "*p" else ["1", "2", "3"]
    return [terminal.name for terminal in kind.terminals]


def drawn(kind: Kind) -> tuple[Drawing, ...]:
    """A battery and one part of the kind, every terminal wired to the bar or to the body."""
    part = "B" if kind.id == "battery" else "X"
    rows = [{"id": "B", "kind": "battery"}, {"id": "S", "kind": "busbar"}]
    rows += [] if part == "B" else [{"id": "X", "kind": kind.id}]
    wires = [{"id": "W0", "from": "B.+", "to": "S.1"}, {"id": "W00", "from": "B.-", "to": "body"}]
    for number, name in enumerate([] if part == "B" else terminals(kind), start=2):
        low = name in LOW or number % 2
        end = "body" if low else f"S.{number}"
        wires.append({"id": f"W{number}", "from": f"X.{name}", "to": end, "size_mm2": "1.5", "colour": "GN/YE"})
    sheets = {"parts": rows, "wires": wires}
    if kind.id == "controller":
        sheets["controller_pins"] = [
            {"id": name, "part": "X", "terminal": name, "abilities": ability} for name, ability in PINS.items()
        ]
    if kind.id == "switch_matrix":
        sheets["contacts"] = [{"part": "X", "position": name, "joins": joins} for name, joins in POSITIONS]
    return circuit_drawings(laid_circuits(job_from_text(sheets), KINDS))


@pytest.mark.parametrize("kind", KINDS.values(), ids=list(KINDS))
def test_every_kind_draws_with_nothing_on_anything(kind):
    sheets = drawn(kind)
    for drawing in sheets:
        assert texts_on_texts(drawing) == []
        assert texts_on_strokes(drawing) == []
        assert [*wires_on_wires(drawing), *wires_through_symbols(drawing)] == []
    part = "B" if kind.id == "battery" else "X"
    said = {item.text for d in sheets for item in d.items if isinstance(item, Text) and item.about == part}
    assert {part, f"31 {part}"} & said
    assert set(terminals(kind)) <= said
    wires = [item.about for d in sheets for item in d.items if isinstance(item, WireStroke)]
    assert sorted(wires) == sorted(
        {"W0", "W00", *(f"W{n + 2}" for n in range(len(terminals(kind)) if part == "X" else 0))}
    )


def test_there_are_as_many_kinds_as_the_library_has():
    assert len(KINDS) >= 91
    assert set(load_drawn()) == set(KINDS)


def test_every_line_of_the_table_says_what_it_is_after_and_where_that_is_known_from():
    for kind, entry in read_toml("symbols", "kinds_drawn").items():
        assert entry["source"] in ("from-memory", "our-choice"), kind
        assert len(entry["mark"]) >= 3, kind


@pytest.mark.parametrize("kind", KINDS.values(), ids=list(KINDS))
def test_a_kinds_pieces_hold_only_terminals_that_it_has_each_once(kind):
    held = [name for piece in drawn_pieces(kind) for name in (*piece.upper, *piece.lower)]
    known = {terminal.name for terminal in kind.terminals} | ({"case"} if kind.case else set())
    assert set(held) <= known
    assert len(held) == len(set(held))
    if not kind.numbered and held:
        assert known - {"case"} <= set(held) | {"earth"}


@pytest.mark.parametrize("kind", KINDS.values(), ids=list(KINDS))
def test_settings_printed_beside_a_symbol_are_the_kinds_own(kind):
    own = {setting.name for setting in kind.settings}
    assert {name for piece in drawn_pieces(kind) for name in piece.shows} <= own


def test_every_symbol_of_the_table_is_drawn_by_our_own_hand():
    for pieces in load_drawn().values():
        for piece in pieces:
            if piece.form in ("inline", "comb", "bridge"):
                symbol = inline_symbol(piece.symbol)
                assert symbol.items
                assert symbol.up_mm == pytest.approx(symbol.down_mm)
            if piece.form == "box" and piece.symbol != "plain":
                left, top, right, bottom = reach(icon(piece.symbol))
                assert right - left <= ICON_WIDE_MM
                assert bottom - top <= ICON_HIGH_MM


def test_a_jobs_own_kind_draws_by_what_its_elements_are():
    sheets = {
        "parts": [{"id": "B", "kind": "battery"}, {"id": "X", "kind": "glow"}, {"id": "Y", "kind": "odd"}],
        "wires": [
            {"id": "W1", "from": "B.+", "to": "X.1"},
            {"id": "W2", "from": "X.2", "to": "body"},
            {"id": "W3", "from": "B.+", "to": "Y.in"},
            {"id": "W4", "from": "Y.out", "to": "body"},
            {"id": "W5", "from": "B.-", "to": "body"},
        ],
        "kinds": [
            {"kind": "glow", "element": "plug", "type": "resistor", "terminals": "1 2", "settings": "ohm=0.8"},
            {"kind": "odd", "element": "a", "type": "resistor", "terminals": "in out", "settings": "ohm=10"},
            {"kind": "odd", "element": "b", "type": "lamp", "terminals": "in out", "settings": "watt=2; volt=12"},
        ],
    }
    (drawing,) = circuit_drawings(laid_circuits(job_from_text(sheets), KINDS))
    assert {item.about for item in drawing.items if isinstance(item, WireStroke)} == {"W1", "W2", "W3", "W4", "W5"}
    boxes = [item for item in drawing.items if type(item).__name__ == "Box" and item.about in ("X", "Y")]
    assert {round(box.width_mm / box.height_mm, 1) for box in boxes if box.about == "X"} == {0.4}
    assert all(box.width_mm > 8 for box in boxes if box.about == "Y")
