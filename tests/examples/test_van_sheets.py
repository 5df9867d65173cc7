"""The demo van: the contract is kept, every wire is possible, the two versions differ only where it is said."""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import as_file, files
from io import StringIO
from itertools import chain, pairwise
from math import sqrt

import pytest

from loomwright.job.decided import with_decided
from loomwright.job.job import Job
from loomwright.job.points import all_terminals, canonical_point, split_point
from loomwright.job.schema import SHEETS, headings
from loomwright.job.variables import variables_of
from loomwright.job.vehicle import metals_of
from loomwright.sheets.csv_folder import open_folder
from loomwright.tables.kinds import load_kinds, resolve_settings, terminal_of

VAN = files("loomwright").joinpath("examples", "van")
VERSIONS = ("as_drawn", "mended")
Rows = list[dict[str, str]]

# amps one wire may carry for ever, 60 degC air, 105 degC insulation: a cautious guide for drawing, no rule of the tool
GUIDE_A = {0.5: 4, 0.75: 7, 1.0: 10, 1.5: 14, 2.5: 20, 4.0: 28, 6.0: 38, 10.0: 55, 16.0: 80, 25.0: 110, 35.0: 140}
GUIDE_C, INSULATION_C, DESIGN_C = 60.0, 105.0, 40.0
SHORT_TAP_MM = 300
COLOURS = {"BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "GD", "TQ", "SR"}
KEYS = {
    "drives": ("output", "when"),
    "contacts": ("part", "gang", "position"),
    "vehicle": ("name",),
    "variables": ("name",),
    "stock": ("item", "size_mm2", "colour"),
    "hours": ("stage", "who", "time"),
    "changes": ("revision",),
    "readings": ("old_wire", "when", "measure", "to"),
    "sensor_points": ("sensor", "about", "real"),
}
KEYS["bonds"] = ("from", "to")


DECIDED = ("decisions", "reasons")


@cache
def sheets(version: str) -> dict[str, Rows]:
    """The sheets of one version as text, with what was decided filled in: sheet -> rows."""
    folder = VAN.joinpath(version)
    read = {file.name.removesuffix(".csv"): _rows(file.read_text(encoding="utf-8")) for file in folder.iterdir()}
    for one in read.get("decisions", ()):
        row = next(row for row in read[one["sheet"]] if row["id"] == one["row"])
        if one["sheet"] == "wires":
            row[one["column"]] = row[one["column"]] or one["value"]
        else:
            name = one["column"].removeprefix("settings.")
            row["settings"] = "; ".join((f"{name}={one['value']}", row["settings"]))
    return {name: rows for name, rows in read.items() if name not in DECIDED}


@cache
def typed(version: str) -> Job:
    with as_file(VAN.joinpath(version)) as folder:
        return open_folder(folder)


@cache
def job(version: str) -> Job:
    return with_decided(typed(version))


@cache
def planted() -> Rows:
    return _rows(VAN.joinpath("planted.csv").read_text(encoding="utf-8"))


def _rows(text: str) -> Rows:
    return list(csv.DictReader(StringIO(text)))


def key_of(sheet: str, row: Mapping[str, str]) -> str:
    return " ".join(row[name] for name in KEYS.get(sheet, ("id",)))


@pytest.fixture(params=VERSIONS)
def version(request: pytest.FixtureRequest) -> str:
    return str(request.param)


def test_headings_are_those_of_the_contract(version: str) -> None:
    for sheet, rows in sheets(version).items():
        assert sheet in SHEETS
        order = [heading for heading in headings(sheet) if heading in rows[0]]
        assert list(rows[0]) == order, sheet


def test_the_sheets_read_as_a_job(version: str) -> None:
    van = job(version)
    assert len(van.wires) >= 180
    assert len(van.parts) >= 115
    assert {"battery", "alternator", "starter", "controller", "selector_switch", "key_switch"} <= {
        p.kind for p in van.parts
    }


def test_no_row_stands_twice(version: str) -> None:
    for sheet, rows in sheets(version).items():
        twice = [key for key, count in Counter(key_of(sheet, row) for row in rows).items() if count > 1]
        assert twice == [], sheet


def test_every_wire_is_drawn_in_full(version: str) -> None:
    for row in sheets(version)["wires"]:
        blank = [name for name in ("id", "circuit", "from", "size_mm2", "colour", "length_mm") if not row[name]]
        assert blank == [], row["id"]
        assert set(row["colour"].split("/")) <= COLOURS, row["id"]
        assert float(row["size_mm2"]) in GUIDE_A, row["id"]


def test_what_the_mended_van_leaves_blank_is_decided_with_reasons() -> None:
    van = typed("mended")
    blank = {("wires", wire.id, "size_mm2") for wire in van.wires if wire.size_mm2 is None}
    blank |= {("wires", wire.id, "length_mm") for wire in van.wires if wire.length_mm is None}
    fuses = [part for part in van.parts if part.kind == "fuse" and "rating_a" not in part.settings]
    blank |= {("parts", part.id, "settings.rating_a") for part in fuses}
    assert len(blank) >= 150
    assert {(one.sheet, one.row, one.column) for one in van.decisions} == blank
    assert {(one.sheet, one.row, one.column) for one in van.reasons} == blank
    assert {one.decided_by for one in van.decisions} >= {"route", "strength", "fuse", "volts", "load", "rush"}


def test_only_the_planted_end_is_free() -> None:
    free = {name: [row["id"] for row in sheets(name)["wires"] if not row["to"]] for name in VERSIONS}
    assert free == {"as_drawn": ["W384"], "mended": []}


def test_wires_end_at_terminals_their_kinds_have(version: str) -> None:
    van, kinds = job(version), load_kinds()
    kind_of = {part.id: part.kind for part in van.parts}
    terminals, metals = all_terminals(van, kinds), metals_of(van)
    for wire in van.wires:
        for end in filter(None, (wire.from_, wire.to)):
            part, terminal = split_point(canonical_point(end, terminals, metals))
            if part in metals:
                continue
            named = terminal_of(kinds[kind_of[part]], terminal)
            assert named is not None or terminal in terminals[part], f"{wire.id}: {end}"


def test_no_wire_is_shorter_than_its_places_allow(version: str) -> None:
    van = job(version)
    at = {place.id: (place.x_mm, place.y_mm, place.z_mm) for place in van.places}
    place_of = {part.id: part.place for part in van.parts}
    for wire in van.wires:
        ends = [at.get(place_of.get(split_point(end)[0], "")) for end in (wire.from_, wire.to)]
        if None not in ends:
            straight_mm = sqrt(sum((a - b) ** 2 for a, b in zip(*ends, strict=True)))
            assert wire.length_mm >= straight_mm, wire.id


def test_runs_reach_every_place(version: str) -> None:
    van = job(version)
    reached = {"battery"}
    for _ in van.places:
        reached |= {end for run in van.runs for end in (run.from_, run.to) if {run.from_, run.to} & reached}
    assert {place.id for place in van.places} <= reached


def test_no_colour_twice_in_a_plug() -> None:
    for plug in ("ECU.A", "ECU.B", "SEL."):
        colours = [row["colour"] for row in sheets("mended")["wires"] if plug in row["from"] + row["to"]]
        assert len(colours) == len(set(colours)) >= 9


def test_cavities_of_the_mended_van_take_one_wire_each() -> None:
    wired = {name: Counter(_ends(name, "ECU.", "SEL.")) for name in VERSIONS}
    assert set(wired["mended"].values()) == {1}
    assert {end: count for end, count in wired["as_drawn"].items() if count > 1} == {"ECU.B15": 2}


def test_every_needed_pin_can_do_what_is_asked_of_it(version: str) -> None:
    van = job(version)
    pins = {pin.id: pin for pin in van.controller_pins}
    for need in van.needs:
        assert need.ability in pins[need.pin].abilities, need.id
    assert len({need.pin for need in van.needs}) == len(van.needs)
    assert {drive.output for drive in van.drives} <= {need.id for need in van.needs}


def test_a_need_is_wired_to_its_pin_in_the_mended_van() -> None:
    joined = {frozenset((row["from"], row["to"])) for row in sheets("mended")["wires"]}
    own_supply = {"main_supply", "key_line"}
    for need in job("mended").needs:
        if need.id not in own_supply:
            assert frozenset((f"{need.part}.{need.terminal}", f"ECU.{need.pin}")) in joined, need.id


def test_no_fuse_of_the_mended_van_is_above_the_wires_it_feeds() -> None:
    assert list(_above_their_wires("mended")) == []
    assert {fuse for fuse, _ in _above_their_wires("as_drawn")} == {"FWIP"}


def test_the_lights_have_their_original_feed_without_a_fuse(version: str) -> None:
    van = job(version)
    feeds = [(row.from_, row.to) for row in van.wires if row.fitted == "kept" and row.from_.startswith("STR")]
    assert feeds == [("STR.30", "LSW.30")]


def test_taps_into_fuses_are_short_and_stand_their_fuse() -> None:
    ratings = _ratings("mended")
    for row in sheets("mended")["wires"]:
        fuse = next((end[:-2] for end in (row["from"], row["to"]) if end.endswith(".1") and end[:-2] in ratings), None)
        if fuse is None or row["circuit"] in ("key", "charge") or row["fitted"] == "kept" or _is_decided("mended", row):
            continue
        assert int(row["length_mm"]) <= SHORT_TAP_MM, row["id"]
        assert _guide_a("mended", row) >= 1.35 * ratings[fuse], row["id"]


def test_the_two_versions_differ_only_in_rows_that_are_said() -> None:
    said = [set(row["rows"].split()) for row in planted()]
    changed = {key.split()[0] for key in _changed()}
    assert changed <= set().union(*said)
    for row, names in zip(planted(), said, strict=True):
        assert changed & names, row["id"]
    by_row = Counter(chain.from_iterable(names & changed for names in said))
    assert set(by_row.values()) == {1}


def test_planted_mistakes_are_many_and_of_many_families() -> None:
    assert len(planted()) >= 12
    assert [row["id"] for row in planted()] == [f"P{n:02d}" for n in range(1, len(planted()) + 1)]
    families = {row["rule"].split("-")[0] for row in planted()}
    assert families == {"KEY", "SGN", "PRO", "RAT", "DRP", "NET", "LMP"}
    assert all(row["what"].endswith(".") and 1 <= int(row["practice_row"]) <= 84 for row in planted())


def test_a_fault_is_expected_at_something_the_car_has() -> None:
    van = job("as_drawn")
    there = {row.id for row in (*van.parts, *van.wires, *van.metals)}
    for row in planted():
        assert split_point(row["expected_at"])[0] in there, row["id"]


def test_roles_of_a_road_going_van_are_all_there(version: str) -> None:
    roles = Counter(part.role for part in job(version).parts if part.role)
    sides = [f"{what}_{side}" for what in ("dipped", "main", "position", "tail") for side in ("left", "right")]
    turns = [f"turn_{side}_{end}" for side in ("left", "right") for end in ("front", "rear")]
    lamps = ["charge_lamp", "oil_lamp", "brake_tell_tale", "plate_lamp", "reverse_lamp", "hazard_switch"]
    once = [*sides, *turns, *lamps, "fuel_pump", "main_relay", "start_inhibit", "crash_switch"]
    assert {role: roles[role] for role in once} == dict.fromkeys(once, 1)
    assert roles["cooling_fan"] == roles["turn_tell_tale"] == 2


def test_the_old_van_has_what_old_vans_have(version: str) -> None:
    van = job(version)
    kinds = Counter(part.kind for part in van.parts)
    assert kinds["lamp_tail"] == kinds["gauge_thermal"] == 2
    assert kinds["stabiliser"] == kinds["relay_step"] == kinds["flasher_thermal"] == 1
    assert kinds["wiper"] == kinds["horn_ring"] == 1
    positions = {(row.part, row.gang, row.position): row.joins for row in van.contacts}
    assert [name for part, _, name in positions if part == "LSW"] == ["off", "side", "head"]
    assert positions["TURN", "pull", "pulled"] == (("S", "31"),)
    earth = next(row for row in van.wires if row.from_ == "TURN.31")
    assert next(part.kind for part in van.parts if part.id == earth.to.split(".")[0]) == "earth_point"


def test_state_variables_are_the_ones_a_driver_knows(version: str) -> None:
    found = {variable.name: variable for variable in variables_of(job(version), load_kinds())}
    expected = (
        "key selector engine battery ambient_c coolant_c brake crash dip handbrake hazard heater horn light parked "
        "pull turn"
    )
    assert set(found) == {*expected.split(), "wash", "wipe"}
    assert found["turn"].values == ("left", "off", "right")
    assert found["turn"].rest == "off"
    assert found["light"].values == ("off", "side", "head")
    coolant_c = [float(value) for value in found["coolant_c"].values]
    assert [sum(value >= limit for value in coolant_c) for limit in (92, 98)] == [2, 1]


def test_every_setting_is_one_its_kind_knows(version: str) -> None:
    kinds = load_kinds()
    for part in job(version).parts:
        assert resolve_settings(kinds[part.kind], part.settings) is not None


def _ends(version: str, *starts: str) -> Iterator[str]:
    for row in sheets(version)["wires"]:
        yield from (end for end in (row["from"], row["to"]) if end.startswith(starts))


def _changed() -> set[str]:
    """Keys of the rows that differ between the two versions, whole rows compared; what the mended van left to be
    decided counts only where a row is said to differ."""
    drawn, mended = sheets("as_drawn"), sheets("mended")
    assert set(drawn) == set(mended)
    said = {name for row in planted() for name in row["rows"].split()}
    decided = {one.row for one in typed("mended").decisions} - said
    changed = set()
    for sheet in drawn:
        sides = [{(key_of(sheet, row), _without(row, decided)) for row in rows[sheet]} for rows in (drawn, mended)]
        changed |= {key for key, _ in sides[0] ^ sides[1]}
    return changed


def _without(row: Mapping[str, str], decided: set[str]) -> tuple[tuple[str, str], ...]:
    """The cells of a row, less those that were decided in one of the versions."""
    open_cells = {"size_mm2", "length_mm", "settings"} if row.get("id") in decided else set()
    return tuple((name, text) for name, text in row.items() if name not in open_cells)


def _is_decided(version: str, row: Mapping[str, str]) -> bool:
    """Whether a wire's size was left to be decided; such a size is judged by the rules, not by the guide."""
    return any(one.row == row["id"] and one.column == "size_mm2" for one in typed(version).decisions)


def _ratings(version: str) -> dict[str, float]:
    return {part.id: float(part.settings["rating_a"]) for part in job(version).parts if part.kind == "fuse"}


def _guide_a(version: str, row: Mapping[str, str]) -> float:
    """What the guide lets a wire carry at the air of its hotter end."""
    van = job(version)
    air = {place.id: place.ambient_c for place in van.places}
    place_of = {part.id: part.place for part in van.parts}
    hot_c = max(air.get(place_of.get(split_point(end)[0], ""), DESIGN_C) for end in (row["from"], row["to"]))
    return GUIDE_A[float(row["size_mm2"])] * sqrt((INSULATION_C - hot_c) / (INSULATION_C - GUIDE_C))


def _above_their_wires(version: str) -> Iterator[tuple[str, str]]:
    """(fuse, wire) where the fuse's rating is above what the wire at its far terminal may carry."""
    ratings = _ratings(version)
    for row in sheets(version)["wires"]:
        if _is_decided(version, row):
            continue
        for fuse in (end[:-2] for end in (row["from"], row["to"]) if end.endswith(".2") and end[:-2] in ratings):
            if ratings[fuse] > _guide_a(version, row):
                yield fuse, row["id"]


def test_wire_numbers_ascend(version: str) -> None:
    numbers = [int(row["id"][1:]) for row in sheets(version)["wires"]]
    assert all(a < b for a, b in pairwise(numbers))
