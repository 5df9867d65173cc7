"""Ends whose terminal nobody named: what their place tells, and how many are left open."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomwright.car import Car
from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from loomwright.job.rows import Connector, Part, Wire
from loomwright.loom.bench_list import bench_list
from loomwright.loom.covering_order import covering_lines
from loomwright.loom.proposed_crimps import proposed_crimps
from loomwright.routes.bundles import bundles
from loomwright.worklist.building import building_things
from tests.handover.bench_van import bench_job

PARTS = (
    Part(id="ECU", kind="controller"),
    Part(id="E1", kind="earth_point"),
    Part(id="BUS", kind="busbar"),
    Part(id="SP1", kind="splice"),
    Part(id="K1", kind="relay"),
)


def job(*wires: Wire, family: str = "1.5 mm, sealed") -> Job:
    return Job(wires=wires, parts=PARTS, connectors=(Connector(id="X", part="ECU", family=family),))


def wire(id: str, start: str, end: str, size_mm2: float | None = 0.5, **more: object) -> Wire:
    return Wire(**{"id": id, "from_": start, "to": end, "size_mm2": size_mm2, "colour": "RD", **more})


def names(made: Job) -> list[tuple[str, str, str]]:
    return [(one.wire, one.end, one.terminal) for one in proposed_crimps(made).crimps]


def test_a_connector_of_one_width_tells_its_contact_with_strip_die_and_seal():
    (one,) = proposed_crimps(job(wire("W1", "ECU.A1", "K1.85"))).crimps
    assert (one.terminal, one.strip_mm, one.die) == (
        "1.5 mm contact, 0.35 to 0.5 mm²",
        4.0,
        "open barrel, 0.35 to 0.5 mm²",
    )
    assert one.proposed_seal == "seal for 1.5 mm, 1.2 to 1.7 mm"
    assert proposed_crimps(job(wire("W1", "ECU.A1", "K1.85"), family="1.5 mm")).crimps[0].proposed_seal == ""


def test_a_connector_of_two_widths_and_a_size_no_barrel_takes_are_left_open():
    assert names(job(wire("W1", "ECU.A1", "K1.85"), family="2.8 mm and 1.5 mm, sealed")) == []
    assert names(job(wire("W1", "ECU.A1", "K1.85", 4.0))) == []
    assert names(job(wire("W1", "ECU.A1", "K1.85", None))) == []


def test_a_stud_and_bare_metal_take_a_ring_and_a_splice_takes_nothing():
    made = job(wire("W1", "BUS.1", "SP1.1", 4.0), wire("W2", "SP1.2", "E1.1", 1.5), wire("W3", "body", "K1.86"))
    assert names(made) == [
        ("W1", "from", "ring, 4 to 6 mm²"),
        ("W2", "to", "ring, 1.5 to 2.5 mm²"),
        ("W3", "from", "ring, 0.5 to 1 mm²"),
    ]
    assert [(one.at, one.ends) for one in proposed_crimps(made).open_ends] == [("relay", ("W3 to",))]


def test_what_is_named_kept_or_not_led_anywhere_is_not_asked_for():
    made = job(
        wire("W1", "E1.1", "", terminal_from="M6 ring"),
        wire("W2", "E1.1", "K1.86", fitted="kept"),
    )
    assert (names(made), proposed_crimps(made).open_ends) == ([], ())


def test_all_of_it_is_ordered_and_marked_and_no_end_of_the_bench_is_left_out():
    made = job(wire("W1", "ECU.A1", "K1.85", length_mm=900.0), wire("W2", "E1.1", "K1.86", length_mm=900.0))
    found = bench_list(made)
    assert [(line.terminal, line.count, line.is_proposed) for line in found.crimps] == [
        ("1.5 mm contact, 0.35 to 0.5 mm²", 1, True),
        ("ring, 0.5 to 1 mm²", 1, True),
    ]
    ordered = {one.item: (one.amount, one.mend) for one in found.order}
    assert ordered["crimp terminal, not named"] == (
        2,
        "at: relay 2; name them in the columns terminal_from and terminal_to of wires",
    )
    assert ordered["seal for 1.5 mm, 1.2 to 1.7 mm"][0] == 1
    assert ordered["terminal ring, 0.5 to 1 mm²"][1].startswith("proposed")


def test_every_end_of_a_van_is_named_proposed_open_or_in_a_splice():
    van = Car(bench_job())
    filled, found = van.filled, van.bench_list()
    splices = {part.id for part in filled.parts if part.kind == "splice"}
    ends = [(one, point) for one in filled.wires if one.fitted == "new" for point in (one.from_, one.to)]
    spliced = sum(point.partition(".")[0] in splices for _, point in ends)
    crimped = sum(line.count for line in found.crimps)
    assert crimped + sum(len(one.ends) for one in found.open_ends) + spliced == len(ends)


def test_the_crimp_under_the_dash_says_what_is_proposed():
    made = job(wire("W1", "ECU.A1", "K1.85", length_mm=900.0))
    crimp = next(one for one in building_things(made) if one.id == "build/W1/from/crimped")
    assert crimp.group == "Crimp 1.5 mm contact, 0.35 to 0.5 mm², proposed"
    assert dict(crimp.facts)["strip"] == "4 mm"
    assert dict(crimp.facts)["seal"] == "seal for 1.5 mm, 1.2 to 1.7 mm, proposed"


BATTERY = [
    {"id": "B1", "from": "BAT.+", "to": "F1.1", "fitted": "kept"},
    {"id": "B2", "from": "BAT.-", "to": "body", "fitted": "kept"},
]
LAID = {
    "places": [{"id": "bay"}, {"id": "nose"}],
    "parts": [
        {"id": "BAT", "kind": "battery", "place": "bay"},
        {"id": "F1", "kind": "fuse", "settings": "rating_a=10", "place": "bay"},
        {"id": "L1", "kind": "lamp", "place": "nose"},
    ],
    "wires": [*BATTERY, {"id": "W1", "from": "F1.2", "to": "L1.1", "size_mm2": "1.5"}],
}


@pytest.mark.parametrize(
    ("covering", "item", "amount"),
    [
        # the bundle is one wire of 1.5 mm²: 2.4 mm over its insulation; 1.1 times that is 2.64
        ("conduit", "conduit, inside  3 mm", 2),
        ("braided sleeve", "braided sleeve, inside  3 mm", 2),
        # 1.2 m x pi x (2.4 + 0.3) / 9.5 mm = 1.07 m
        ("tape", "tape", 2),
    ],
)
def test_what_covers_a_run_is_ordered_by_its_bore_and_tape_by_its_laps(covering, item, amount):
    run = {"id": "R1", "from": "bay", "to": "nose", "length_mm": "1200", "covering": covering}
    ordered = {one.item: one.amount for one in Car(job_from_text({**LAID, "runs": [run]})).bench_list().order}
    assert ordered[item] == amount


def test_what_covers_kept_wires_alone_is_not_ordered():
    run = {"id": "R1", "from": "bay", "to": "nose", "length_mm": "1200", "covering": "conduit"}
    kept = [{**one, "fitted": "kept"} for one in LAID["wires"]]
    order = Car(job_from_text({**LAID, "wires": kept, "runs": [run]})).bench_list().order
    assert not [one for one in order if "conduit" in one.item]


def test_a_bundle_nobody_knows_the_thickness_of_is_told_and_not_guessed():
    made = job_from_text({**LAID, "runs": [{"id": "R1", "from": "bay", "to": "nose", "length_mm": "1200"}]})
    known = bundles(made, Car(made).routes)["R1"]
    for covering, item, metres in (("tape", "tape", None), ("conduit", "conduit", 1.2)):
        unknown = {"R1": replace(known, covering=covering, bundle_mm=None)}
        assert [(one.item, one.length_m) for one in covering_lines(made, unknown)] == [(item, metres)]
    (line,) = [one for one in bench_list(made, runs={"R1": replace(known, covering="tape", bundle_mm=None)}).order
               if one.item == "tape"]  # fmt: skip
    assert (line.amount, line.mend) == (0, "half lapped, 19 mm wide; not known how thick: one of R1")


def test_a_cable_is_ordered_by_its_kind_unless_a_reel_has_it():
    cores = [
        {"id": name, "from": "F1.2", "to": "L1.1", "size_mm2": "0.5", "length_mm": "900", "cable": "C1"}
        for name in ("W1", "W2")
    ]
    sheets = {**LAID, "wires": [*BATTERY, *cores], "cables": [{"id": "C1", "kind": "screened pair"}]}
    order = bench_list(job_from_text(sheets)).order
    assert [(one.item, one.amount, one.per) for one in order if "pair" in one.item] == [("cable screened pair", 1, "m")]
    stock = [{"item": "screened pair", "length_m": "25"}]
    assert not [one for one in bench_list(job_from_text({**sheets, "stock": stock})).order if "pair" in one.item]
