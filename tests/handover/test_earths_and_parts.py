"""Earth points, splices, parts, what to buy and what is open."""

from __future__ import annotations

import numpy as np
import pytest

from loomwright.car import Car
from loomwright.handover.asking import walk_of
from loomwright.handover.connector_faces import connector_faces
from loomwright.handover.earth_list import earths_of
from loomwright.handover.outage import loads_of, stops_without_part
from loomwright.handover.parts_list import parts_list
from loomwright.job.reading import job_from_text
from loomwright.network.solve import solve_many, values_of
from tests.handover.bench_van import bench_car, bench_rows
from tests.handover.van import rows, wire


def earths(sheets):
    """The earth points and splices of those sheets."""
    car = bench_car(sheets)
    walk = walk_of(car.filled, car.kinds, car.compiled)
    return earths_of(car.filled, car.kinds, car.compiled, walk.answers, walk.asked)


@pytest.fixture(scope="module")
def with_point():
    """The small van with an earth point for its fan and a splice for its tail lamps."""
    sheets = rows()
    sheets["parts"] += [
        {"id": "E1", "kind": "earth_point", "name": "fan earth", "place": "bay"},
        {"id": "SP", "kind": "splice", "name": "tail splice"},
    ]
    for row in sheets["wires"]:
        row["to"] = {"W16": "E1", "W9": "SP.2", "W10": "SP.3"}.get(row["id"], row["to"])
    sheets["wires"].append(wire("W70", "SP.1", "body", "lights", "2.5"))
    return earths(sheets)


def test_an_earth_point_tells_its_wires_its_metal_and_its_ohms_to_the_post(with_point):
    point = with_point.earths[0]
    assert (point.id, point.metal, point.place) == ("E1", "body", "engine bay")
    assert [(end.wire, end.there) for end in point.wires] == [("W16", "FAN.-")]
    # joint 0.5, then W1: 1 m of 25 mm², 0.780 * 274.5 / 254.5, with two crimps of 0.3 mOhm
    assert float(point.ohms.removesuffix(" mΩ")) == pytest.approx(0.5 + 0.780 * 274.5 / 254.5 + 0.6, abs=0.1)


def test_a_worse_joint_reads_more():
    sheets = rows()
    sheets["parts"].append({"id": "E1", "kind": "earth_point", "settings": "joint_mohm=12"})
    next(row for row in sheets["wires"] if row["id"] == "W16")["to"] = "E1"
    assert float(earths(sheets).earths[0].ohms.removesuffix(" mΩ")) > 12.0


def test_the_most_volts_at_an_earth_come_with_the_state(with_point):
    millivolts, _, state = with_point.earths[0].most.partition(" mV, ")
    assert 10.0 < float(millivolts) < 100.0
    assert state
    assert with_point.limit == "5 mΩ"


def test_a_metal_that_wires_end_on_is_an_earth_too(with_point):
    metals = {line.id: line for line in with_point.earths}
    assert {"body", "engine"} <= set(metals)
    assert metals["body"].name == "the metal itself"


def test_a_splice_tells_its_wires_and_their_areas_together(with_point):
    (splice,) = with_point.splices
    assert [end.wire for end in splice.wires] == ["W70", "W9", "W10"]
    assert splice.size == "5.5"  # 2.5 + 1.5 + 1.5


def test_a_headlamp_that_glows_on_through_two_others_is_out():
    """Its bolt off, its current goes back through the main beam beside it and the other side's, all three in a row."""
    lamps = [{"id": name, "kind": "lamp", "settings": "watt=55"} for name in ("DIP", "MAIN", "OTHER")]
    ends = ("BAT.+ DIP.1", "DIP.2 E1.1", "MAIN.2 E1.1", "MAIN.1 OTHER.1", "OTHER.2 body", "BAT.- body")
    wires = [
        dict(zip(("from", "to"), end.split(), strict=True), id=f"W{n}", size_mm2="2.5", length_mm="500")
        for n, end in enumerate(ends)
    ]
    parts = [{"id": "BAT", "kind": "battery"}, {"id": "E1", "kind": "earth_point"}, *lamps]
    compiled = Car(job_from_text({"parts": parts, "wires": wires})).scene.compiled
    before = solve_many(compiled, np.array([values_of(compiled, {})]))
    # a third of the volts: 3 ** -0.55 = 0.55 of the amps, which is over half and two hundredths of the light
    assert stops_without_part(compiled, "E1", before) == ("DIP",)
    drawn, needed = before.amps[0, list(loads_of(compiled).places[0])].sum(), loads_of(compiled).works_a[0]
    assert 0.5 * drawn < 3**-0.55 * drawn < needed < drawn


def listed(sheets=None):
    """The parts list of the bench van."""
    car = bench_car(sheets or bench_rows())
    faces = connector_faces(car.filled, car.kinds)
    return parts_list(car.filled, car.kinds, faces, ("W11: length not given",))


def test_parts_stand_by_where_they_come_from():
    sheets = bench_rows()
    for row in sheets["parts"]:
        row["fitted"] = {"KEY": "kept", "FAN": "donor", "BL": "removed"}.get(row["id"], "new")
    fitted = [line.fitted for line in listed(sheets).parts]
    assert fitted == sorted(fitted, key=["new", "donor", "kept", "removed"].index)
    bought = {name for line in listed(sheets).buy for name in line.ids}
    assert not {"KEY", "FAN", "BL"} & bought


def test_alike_things_are_counted_together_and_others_are_not():
    buy = {line.item: line for line in listed().buy}
    assert buy["fuse blade c, 10 A, red"].ids == ("F1",)
    assert buy["fuse blade c, 5 A, tan"].ids == ("F3",)
    lamps = next(line for item, line in buy.items() if {"TL", "TR"} <= set(line.ids))
    assert lamps.count == 3


def test_connectors_crimps_seals_and_plugs_are_counted():
    buy = {line.item: line for line in listed().buy}
    assert buy["terminal T63"].count == 2
    assert buy["seal S63"].count == 1
    assert buy["connector, sealed 1.5, 6 ways"].ids == ("XE",)
    assert buy["cavity plug, sealed 1.5"].count == 2


def test_what_is_open_is_told_and_what_is_done_is_not():
    told = [(line.what, line.id, line.status) for line in listed().open]
    assert told == [
        ("snag", "S1", "open"),
        ("question", "Q1", "with the owner"),
        ("figure", "", "taken provisionally"),
    ]
