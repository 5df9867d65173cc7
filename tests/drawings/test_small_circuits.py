"""What stands where on a drawing, asked of small circuits."""

from __future__ import annotations

import pytest

from loomwright.drawings.circuit_drawing import circuit_drawings, laid_circuits
from loomwright.drawings.symbols.items import Box, Circle, Drawing, Line, Text, WireStroke
from loomwright.job.reading import job_from_text
from loomwright.tables.kinds import load_kinds
from tests.drawings.overlaps import texts_on_strokes, texts_on_texts

KINDS = load_kinds()
Rows = list[dict[str, str]]


def rows(*lines: str) -> Rows:
    """Rows of `parts` from short lines: id kind [settings]."""
    found = []
    for line in lines:
        part, kind, *rest = line.split(" ", 2)
        found.append({"id": part, "kind": kind, **({"settings": rest[0]} if rest else {})})
    return found


def wires(*lines: str) -> Rows:
    """Rows of `wires` from short lines: id circuit from to [size [colour]]."""
    found = []
    for line in lines:
        names = ("id", "circuit", "from", "to", "size_mm2", "colour")
        row = dict(zip(names, line.split(" "), strict=False))
        found.append({name: "" if text == "-" else text for name, text in row.items()})
    return found


def drawn(parts: Rows, wire_rows: Rows, **sheets: Rows) -> dict[str, list[Drawing]]:
    """The drawings of a small job, by circuit."""
    circuits = [{"id": name} for name in dict.fromkeys(row["circuit"] for row in wire_rows) if name]
    job = job_from_text({"circuits": circuits, "parts": parts, "wires": wire_rows, **sheets})
    found: dict[str, list[Drawing]] = {}
    for drawing in circuit_drawings(laid_circuits(job, KINDS)):
        found.setdefault(drawing.id, []).append(drawing)
    return found


def said(drawing: Drawing, about: str | None = None) -> list[str]:
    """The words of a sheet, of one row of the job where it is named."""
    return [item.text for item in drawing.items if isinstance(item, Text) and about in (None, item.about)]


def down_mm(drawing: Drawing, text: str) -> float:
    """How far down a word stands."""
    return next(item.y_mm for item in drawing.items if isinstance(item, Text) and item.text == text)


def across_mm(drawing: Drawing, text: str) -> float:
    """How far across a word stands."""
    return next(item.x_mm for item in drawing.items if isinstance(item, Text) and item.text == text)


LAMP = (
    rows("BAT battery", "F1 fuse rating_a=10", "SW switch", "L1 lamp watt=21", "E1 earth_point"),
    wires(
        "W1 lamps BAT.+ F1.1 2.5 RD",
        "W2 lamps F1.2 SW.1 1.5 RD/GN",
        "W3 lamps SW.2 L1.1 1.5 GN",
        "W4 lamps L1.2 E1.1 1.5 BN",
        "W5 lamps BAT.- body 16 BK",
    ),
)


def test_the_current_runs_down_from_the_supply_through_fuse_switch_and_load_to_earth():
    (drawing,) = drawn(*LAMP)["lamps"]
    places = [down_mm(drawing, text) for text in ("BAT", "F1", "SW", "L1", "31 E1")]
    assert places == sorted(places)
    assert len(set(places)) == 5


def test_a_plain_circuit_is_one_straight_line_down():
    (drawing,) = drawn(*LAMP)["lamps"]
    strokes = {item.about: item.points_mm for item in drawing.items if isinstance(item, WireStroke)}
    assert {len(points) for wire, points in strokes.items() if wire != "W5"} == {2}
    assert len({points[0][0] for wire, points in strokes.items() if wire != "W5"}) == 1


def test_a_fuse_shows_its_rating_and_one_without_is_open():
    (drawing,) = drawn(*LAMP)["lamps"]
    assert "10 A" in said(drawing, "F1")
    parts = [row if row["id"] != "F1" else {"id": "F1", "kind": "fuse"} for row in LAMP[0]]
    (drawing,) = drawn(parts, LAMP[1])["lamps"]
    assert "rating open" in said(drawing, "F1")


def test_typical_figures_of_a_kind_are_not_printed():
    parts = [row if row["id"] != "L1" else {"id": "L1", "kind": "lamp"} for row in LAMP[0]]
    (drawing,) = drawn(parts, LAMP[1])["lamps"]
    assert [text for text in said(drawing, "L1") if text.endswith("W")] == []
    assert "21 W" in said(drawn(*LAMP)["lamps"][0], "L1")


def test_a_blank_size_or_colour_is_shown_as_open_and_never_filled_in():
    blank = wires("W1 lamps BAT.+ L1.1 - RD", "W2 lamps L1.2 body 1.5 -", "W3 lamps BAT.- body")
    (drawing,) = drawn(rows("BAT battery", "L1 lamp"), blank)["lamps"]
    assert said(drawing, "W1") == ["W1", "size open", "RD"]
    assert said(drawing, "W2") == ["W2", "1.5", "colour open"]
    assert said(drawing, "W3") == ["W3", "size open", "colour open"]
    assert {item.colour for item in drawing.items if isinstance(item, WireStroke) and item.about != "W1"} == {""}


@pytest.mark.parametrize(
    ("kind", "back"), [("temperature_switch", []), ("temperature_switch_2wire", ["W4 a T.2 body"])]
)
def test_a_contact_is_drawn_as_it_lies_at_rest(kind: str, back: list[str]):
    def blade(settings: str) -> Line | object:
        parts = rows("BAT battery", f"T {kind} {settings}", "L lamp")
        lines = wires("W1 a BAT.+ L.1", "W2 a L.2 T.1", "W3 a BAT.- body", *back)
        (drawing,) = drawn(parts, lines)["a"]
        return [item for item in drawing.items if type(item).__name__ == "Polyline" and item.about == "T"]

    open_one, closed_one = blade("closes_when=coolant_c>=95"), blade("closes_when=coolant_c<95")
    assert len(open_one) == len(closed_one) == 1
    assert open_one[0].points_mm[1][0] < open_one[0].points_mm[0][0]
    assert closed_one[0].points_mm[1][0] > closed_one[0].points_mm[0][0]


RELAY = (
    rows("BAT battery", "F1 fuse rating_a=15", "K1 relay suppression=diode", "SW switch", "FAN fan"),
    wires(
        "W1 a BAT.+ F1.1 4 RD",
        "W2 a F1.2 K1.30 4 RD",
        "W3 a K1.87 FAN.+ 2.5 OG",
        "W4 a FAN.- body 2.5 BN",
        "W5 b BAT.+ SW.1 1 BK",
        "W6 b SW.2 K1.86 1 BK",
        "W7 b K1.85 body 1 BN",
        "W8 b BAT.- body 16 BK",
    ),
)


def test_coil_and_contact_of_a_relay_stand_in_their_own_circuits_and_name_each_other():
    sheets = drawn(*RELAY)
    (contact,), (coil,) = sheets["a"], sheets["b"]
    track = next(text for text in said(contact, "K1") if text.startswith("coil b "))
    there = next(text for text in said(coil, "K1") if text.startswith("contact a "))
    assert int(track.split()[-1]) in {one.number for one in coil.tracks}
    assert int(there.split()[-1]) in {one.number for one in contact.tracks}
    assert {"30", "87"} <= set(said(contact, "K1"))
    assert {"85", "86", "with diode"} <= set(said(coil, "K1"))


def test_a_supply_from_another_circuit_is_a_line_on_top_with_its_number_and_its_place():
    parts = rows("BAT battery", "FM fuse rating_a=60", "BUS busbar", "F1 fuse rating_a=10", "L1 lamp")
    lines = wires(
        "W1 main BAT.+ FM.1 16 RD",
        "W2 main FM.2 BUS.1 16 RD",
        "W3 main BAT.- body 16 BK",
        "W4 lamp BUS.2 F1.1 1.5 RD",
        "W5 lamp F1.2 L1.1 1.5 GN",
        "W6 lamp L1.2 body 1.5 BN",
    )
    sheets = drawn(parts, lines)
    (lamp,), (main,) = sheets["lamp"], sheets["main"]
    words = said(lamp, "BUS")
    assert "30" in words
    assert "from BAT, FM 60 A" in words
    assert any(text.startswith("← main ") for text in words)
    assert down_mm(lamp, "30") < down_mm(lamp, "F1")
    assert any(text.startswith("lamp ") for text in said(main, "W4"))


def test_a_switch_with_several_ends_shows_its_positions_the_one_at_rest_marked():
    parts = [*rows("BAT battery", "K key_switch", "L1 lamp", "L2 lamp")]
    lines = wires(
        "W1 a BAT.+ K.30",
        "W2 a K.15 L1.1",
        "W3 a K.75 L2.1",
        "W4 a L1.2 body",
        "W5 a L2.2 body",
        "W6 a BAT.- body",
    )
    (drawing,) = drawn(parts, lines)["a"]
    assert {"off", "accessory", "run", "start"} <= set(said(drawing, "K"))
    grey = [item for item in drawing.items if isinstance(item, Box) and item.about == "K" and item.fill == "rule"]
    assert len(grey) == 1
    assert grey[0].y_mm < down_mm(drawing, "off") < grey[0].y_mm + grey[0].height_mm
    # accessory joins two, run three, start two of the shown terminals: a dot each
    dots = [item for item in drawing.items if isinstance(item, Circle) and item.about == "K" and item.fill == "ink"]
    assert len(dots) == 7


def test_a_switch_with_two_ends_says_where_they_are_joined():
    contacts = [{"part": "S", "position": "off"}, {"part": "S", "position": "side"}]
    contacts += [{"part": "S", "position": "head", "joins": "30+56"}]
    parts = rows("BAT battery", "S switch_matrix", "L1 lamp")
    lines = wires("W1 a BAT.+ S.30", "W2 a S.56 L1.1", "W3 a L1.2 body", "W4 a BAT.- body")
    (drawing,) = drawn(parts, lines, contacts=contacts)["a"]
    assert "joined in head" in said(drawing, "S")
    assert "off" not in said(drawing, "S")


def test_a_controller_shows_only_the_pins_of_its_circuit_with_their_connector():
    pins = [("A1", "supply"), ("A2", "power_earth"), ("A3", "low_side"), ("A4", "low_side")]
    sheets = {
        "controller_pins": [{"id": p, "part": "ECU", "terminal": p, "abilities": a} for p, a in pins],
        "connectors": [{"id": "XA", "part": "ECU", "terminals": "A*", "ways": "24"}],
    }
    parts = rows("BAT battery", "ECU controller", "INJ injector", "FAN fan")
    lines = wires(
        "W1 ecu BAT.+ ECU.A1",
        "W2 ecu ECU.A2 body",
        "W3 ecu BAT.- body",
        "W4 inj BAT.+ INJ.1",
        "W5 inj INJ.2 ECU.A3",
        "W6 fan BAT.+ FAN.+",
        "W7 fan FAN.- ECU.A4",
    )
    (drawing,) = drawn(parts, lines, **sheets)["inj"]
    assert {"ECU", "A3", "A2"} <= set(said(drawing, "ECU"))
    assert not {"A1", "A4"} & set(said(drawing, "ECU"))
    assert "XA" in said(drawing, "XA")
    box = next(item for item in drawing.items if isinstance(item, Box) and item.about == "ECU")
    assert box.dashed
    assert down_mm(drawing, "INJ") < box.y_mm


def test_the_live_post_is_on_top_whichever_side_is_earthed():
    vehicle = [{"name": "earth", "value": "positive"}]
    lines = wires("W1 a BAT.- L1.1", "W2 a L1.2 body", "W3 a BAT.+ body")
    (drawing,) = drawn(rows("BAT battery", "L1 lamp"), lines, vehicle=vehicle)["a"]
    strokes = {item.about: item.points_mm for item in drawing.items if isinstance(item, WireStroke)}
    assert strokes["W1"][0][1] < strokes["W3"][0][1]
    assert down_mm(drawing, "BAT") < down_mm(drawing, "L1")


def test_a_diode_points_the_way_the_current_goes():
    def bar_below(first: str, second: str) -> bool:
        lines = wires(f"W1 a BAT.+ D.{first}", f"W2 a D.{second} L1.1", "W3 a L1.2 body", "W4 a BAT.- body")
        (drawing,) = drawn(rows("BAT battery", "D diode", "L1 lamp"), lines)["a"]
        triangle = next(item for item in drawing.items if type(item).__name__ == "Polyline" and item.about == "D")
        ys = [y for _, y in triangle.points_mm]
        return ys[2] > ys[0]

    assert bar_below("a", "k")
    assert not bar_below("k", "a")


def test_a_free_end_of_a_wire_is_drawn_as_one():
    lines = wires("W1 a BAT.+ L1.1", "W2 a L1.2 -", "W3 a BAT.- body")
    (drawing,) = drawn(rows("BAT battery", "L1 lamp"), lines)["a"]
    assert "open end" in said(drawing, "W2")
    assert {item.about for item in drawing.items if isinstance(item, WireStroke)} == {"W1", "W2", "W3"}


def test_wires_of_no_circuit_go_to_a_last_drawing():
    lines = wires("W1 a BAT.+ L1.1", "W2 - L1.2 body", "W3 - BAT.- body")
    sheets = drawn(rows("BAT battery", "L1 lamp"), lines)
    assert list(sheets) == ["a", "no_circuit"]
    (last,) = sheets["no_circuit"]
    assert {item.about for item in last.items if isinstance(item, WireStroke)} == {"W2", "W3"}
    assert last.title == "wires without a circuit"


def test_a_cable_and_a_twist_are_told_beside_the_wire():
    lines = wires("W1 a S.1 R.1 0.5 WH", "W2 a S.2 R.2 0.5 BN")
    for row in lines:
        row.update({"twist": "T1", "cable": "C1"})
    cables = [{"id": "C1", "cores": "2"}]
    (drawing,) = drawn(rows("BAT battery", "S sensor_ntc", "R resistor"), lines, cables=cables)["a"]
    assert said(drawing, "W1") == ["W1", "0.5 WH", "cable C1", "twist T1"]


def test_a_circuit_that_is_too_wide_goes_on_on_further_sheets_and_says_where():
    count = 26
    parts = rows(
        "BAT battery", "BUS busbar", *(f"L{n} lamp" for n in range(count)), *(f"S{n} switch" for n in range(count))
    )
    lines = wires("W0 a BAT.+ BUS.1 6 RD", "W00 a BAT.- body 6 BK")
    for n in range(count):
        lines += wires(f"WA{n} a BUS.{n + 2} S{n}.1 1 RD", f"WB{n} a S{n}.2 L{n}.1 1 GN", f"WC{n} a L{n}.2 body 1 BN")
    sheets = drawn(parts, lines)["a"]
    assert len(sheets) > 2
    assert [sheet.sheet for sheet in sheets] == list(range(1, len(sheets) + 1))
    assert {sheet.sheets for sheet in sheets} == {len(sheets)}
    wires_drawn = [item.about for sheet in sheets for item in sheet.items if isinstance(item, WireStroke)]
    assert sorted(wires_drawn) == sorted(row["id"] for row in lines)
    for sheet in sheets:
        assert (sheet.width_mm, sheet.height_mm) in {(210.0, 297.0), (297.0, 210.0)}
        assert texts_on_texts(sheet) == texts_on_strokes(sheet) == []
        if "BUS" in said(sheet):
            assert any(text.startswith("also ") for text in said(sheet, "BUS"))


def test_a_chain_longer_than_a_page_goes_on_on_a_further_sheet():
    count = 24
    parts = rows("BAT battery", *(f"S{n} switch" for n in range(count)), "L1 lamp")
    ends = ["BAT.+", *(f"S{n}.{side}" for n in range(count) for side in (1, 2)), "L1.1"]
    pairs = list(zip(ends[::2], ends[1::2], strict=True))
    lines = wires(
        *(f"W{n} a {one} {other} 1 RD" for n, (one, other) in enumerate(pairs)), "W90 a L1.2 body", "W91 a BAT.- body"
    )
    sheets = drawn(parts, lines)["a"]
    assert len(sheets) >= 3
    wires_drawn = [item.about for sheet in sheets for item in sheet.items if isinstance(item, WireStroke)]
    assert sorted(wires_drawn) == sorted(row["id"] for row in lines)
    arrows = [text for sheet in sheets for text in said(sheet) if text.startswith("→ ")]
    assert len(arrows) >= 2 * (len(sheets) - 1)


def test_a_daisy_chain_stands_side_by_side():
    parts = rows("BAT battery", "L1 lamp", "L2 lamp", "L3 lamp")
    lines = wires("W1 a BAT.+ L1.1", "W2 a L1.1 L2.1", "W3 a L2.1 L3.1")
    lines += wires("W4 a L1.2 body", "W5 a L2.2 body", "W6 a L3.2 body", "W7 a BAT.- body")
    (drawing,) = drawn(parts, lines)["a"]
    assert len({round(down_mm(drawing, text), 2) for text in ("L1", "L2", "L3")}) == 1
    assert across_mm(drawing, "L1") < across_mm(drawing, "L2") < across_mm(drawing, "L3")


def test_earth_has_its_terminal_number_where_the_negative_post_is_earthed():
    (drawing,) = drawn(*LAMP)["lamps"]
    assert "31 E1" in said(drawing, "E1")
