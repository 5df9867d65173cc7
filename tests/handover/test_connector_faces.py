"""Connector faces: cavities in their places, both ways round, and what is not in the sheets is said."""

from __future__ import annotations

import pytest

from loomwright.handover.asking import walk_of
from loomwright.handover.connector_faces import connector_faces, with_what_dies
from loomwright.handover.outage import stops_without_plug
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network
from loomwright.network.records import Changes
from loomwright.tables.kinds import load_kinds
from tests.handover.bench_van import bench_car, bench_job, bench_rows


def faces(sheets=None):
    """Connector -> its face."""
    job = bench_job(sheets)
    return {face.id: face for face in connector_faces(job, load_kinds())}


def with_row(**cells):
    """The faces with one connector's row typed anew."""
    sheets = bench_rows()
    row = next(row for row in sheets["connectors"] if row["id"] == cells["id"])
    row.update(cells)
    return faces(sheets)[cells["id"]]


def test_cavities_lie_row_by_row_from_the_left_as_the_layout_says():
    face = faces()["XE"]
    assert (face.rows, face.columns, face.known, face.layout_says) == (2, 3, True, "2 rows of 3.")
    assert [(one.number, one.row, one.column) for one in face.cavities] == [
        (1, 1, 1),
        (2, 1, 2),
        (3, 1, 3),
        (4, 2, 1),
        (5, 2, 2),
        (6, 2, 3),
    ]


def test_a_terminal_that_ends_in_a_number_sits_in_that_cavity():
    face = faces()["XE"]
    assert {one.number: one.terminal for one in face.cavities if one.terminal} == {1: "A1", 2: "A2", 3: "A3", 4: "A4"}
    assert "number in the terminal's name" in face.counted


def test_each_cavity_tells_its_wire_where_it_goes_and_what_runs_there():
    cavity = faces()["XE"].cavities[2]
    (end,) = cavity.wires
    assert (end.wire, end.there, end.size, cavity.signal) == ("W18", "KF.85", "0.75", "switch to earth")


def test_a_cavity_without_a_wire_is_empty():
    face = faces()["XE"]
    assert [one.number for one in face.cavities if not one.wires] == [5, 6]


def test_crimps_stand_at_the_end_they_belong_to():
    sheets = bench_rows()
    sheets["connectors"].append({"id": "XK", "part": "KF", "terminals": "30 85 86 87", "ways": "4", "layout": "2x2"})
    cavities = {one.terminal: one for one in faces(sheets)["XK"].cavities}
    assert cavities["30"].wires[0].crimp == "T63"
    sheets["connectors"][-1].update(part="F2", terminals="1 2", ways="2", layout="1x2")
    assert faces(sheets)["XK"].cavities[1].wires[0].crimp == "T63 + S63"


@pytest.mark.parametrize(
    ("layout", "says"),
    [
        ("", "no layout"),
        ("round", "not rows x columns"),
        ("2x2", "holds 4 cavities, not 6"),
    ],
)
def test_an_unknown_layout_is_a_strip_and_says_so(layout, says):
    face = with_row(id="XE", layout=layout)
    assert (face.rows, face.columns, face.known) == (1, 6, False)
    assert says in face.layout_says
    assert [one.column for one in face.cavities] == [1, 2, 3, 4, 5, 6]


@pytest.mark.parametrize("layout", ["2X3", "2 x 3", "2×3", "2*3"])
def test_a_layout_may_be_written_in_any_of_its_usual_ways(layout):
    face = with_row(id="XE", layout=layout)
    assert (face.rows, face.columns, face.known) == (2, 3, True)


def test_terminals_without_numbers_stand_in_the_order_of_the_sheet():
    face = with_row(id="XF", terminals="- +", layout="1x2")
    assert [one.terminal for one in face.cavities] == ["-", "+"]
    assert "compare before pinning" in face.counted


def test_a_connector_that_names_no_terminal_holds_those_that_are_left():
    sheets = bench_rows()
    sheets["connectors"][0]["terminals"] = "A1 A2"
    sheets["connectors"].append({"id": "XR", "part": "ECU", "terminals": "", "ways": "4"})
    assert [one.terminal for one in faces(sheets)["XR"].cavities] == ["", "", "A3", "A4"]
    sheets["connectors"][-1].update(part="KF", ways="4")
    # the relay's kind has more terminals than the four ways: those with a wire
    assert [one.terminal for one in faces(sheets)["XR"].cavities if one.terminal] == ["30", "85", "86", "87"]


def test_connectors_of_a_controller_come_first_and_say_who_they_go_to():
    sheets = bench_rows()
    sheets["connectors"][1].update(id="A1")
    sheets["connectors"].append({"id": "XL", "part": "TL", "terminals": "1 2", "ways": "2", "mates": "A1"})
    told = connector_faces(bench_job(sheets), load_kinds())
    assert [face.id for face in told] == ["XE", "A1", "XL"]
    assert [face.mates for face in told] == ["ECU", "XL", "A1"]


def test_of_two_halves_the_pins_are_counted_the_other_way_so_that_equal_numbers_meet():
    sheets = bench_rows()
    sheets["parts"].append({"id": "X9", "kind": "inline_connector"})
    half = {"part": "X9", "ways": "3", "layout": "1x3"}
    sheets["connectors"] += [
        {"id": "XP", "terminals": "1p 2p 3p", "side": "pin", "mates": "XS", **half},
        {"id": "XS", "terminals": "1s 2s 3s", "side": "socket", **half},
    ]
    pins, sockets = faces(sheets)["XP"], faces(sheets)["XS"]
    assert (pins.mate, sockets.mate) == ("XS", "XP")
    assert [one.column for one in sockets.cavities] == [1, 2, 3]
    # put together face to face, the left of one is the right of the other
    assert [4 - one.column for one in pins.cavities] == [one.column for one in sockets.cavities]
    assert "equal numbers meet" in pins.counted


@pytest.mark.parametrize(
    ("cells", "pitch"),
    [
        ({"layout": "2x3, pitch 4 x 5 mm"}, (4.0, 5.0)),
        ({"layout": "2x3, pitch 6.35 mm"}, (6.35, 6.35)),
        ({"layout": "2x3", "family": "D-sub, crimped"}, (2.77, 2.84)),
        ({"layout": "2x3", "family": "sealed 1.5"}, None),
        ({"layout": "", "family": "D-sub"}, None),
    ],
)
def test_a_face_is_to_scale_where_sheet_or_standard_gives_the_pitch(cells, pitch):
    sheets = bench_rows()
    sheets["connectors"][0] |= cells
    face = faces(sheets)["XE"]
    assert face.pitch_mm == pitch
    assert bool(face.pitch_says) == (pitch is not None)


def test_what_dies_with_a_plug_is_what_the_network_without_its_points_says():
    sheets = bench_rows()
    sheets["connectors"].append({"id": "XR", "part": "KF", "terminals": "", "ways": "4"})
    car = bench_car(sheets)
    walk = walk_of(car.filled, car.kinds, car.compiled)
    asked = connector_faces(car.filled, car.kinds)
    told = {one.id: one for one in with_what_dies(asked, car.filled, car.kinds, car.compiled, walk.answers)}
    for face in asked:
        points = tuple(f"{face.part}.{cavity.terminal}" for cavity in face.cavities if cavity.wires)
        off = compile_network(build_network(car.filled, car.kinds, Changes(unplugged=points)))
        wires = {end.wire for cavity in face.cavities for end in cavity.wires}
        assert told[face.id].dies == stops_without_plug(car.compiled, off, wires, walk.answers), face.id
    # its row names no terminal: all that are left are off, and the fan stands still
    assert "FAN" in told["XR"].dies
    assert told["XF"].dies == ("FAN",)


def test_what_a_controller_no_longer_reads_without_its_plug_is_told():
    sheets = bench_rows()
    sheets["controller_pins"].append({"id": "A5", "part": "ECU", "terminal": "A5", "abilities": "temperature_input"})
    sheets["needs"] = [{"id": "clt", "does": "coolant_temperature", "ability": "temperature_input", "pin": "A5"}]
    sheets["wires"].append({"id": "W31", "circuit": "ecu", "from": "ECU.A5", "to": "TL.1", "size_mm2": "0.5"})
    car = bench_car(sheets)
    walk = walk_of(car.filled, car.kinds, car.compiled)
    asked = connector_faces(car.filled, car.kinds)
    told = {one.id: one for one in with_what_dies(asked, car.filled, car.kinds, car.compiled, walk.answers)}
    assert told["XE"].unread == ("coolant temperature",)
    assert told["XF"].unread == ()
