"""The sheets of the sound cars: the contract is kept, every point is there, and the arithmetic of good practice holds.

The rules of the tool are judged on these cars by raising no fault; nothing here uses those rules. The amps in `GUIDE_A`
are a cautious guide for drawing (105 degC insulation, 60 degC air), kept here so that cars and tool do not lean on one
table.
"""

from __future__ import annotations

import csv
from collections import Counter, deque
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import as_file, files
from math import dist, sqrt

import pytest

from loomwright.job.job import Job
from loomwright.job.points import all_terminals, canonical_point, split_point
from loomwright.job.rows import Part, Wire
from loomwright.job.schema import SHEETS, headings
from loomwright.job.variables import variables_of
from loomwright.job.vehicle import metals_of
from loomwright.job.writing import text_from_job
from loomwright.sheets.csv_folder import open_folder
from loomwright.tables.kinds import load_kinds, terminal_of

CARS = ("tourer", "wagon")
SOUND = files("loomwright").joinpath("examples", "sound")
KEYS = {
    "vehicle": ("name",),
    "variables": ("name",),
    "contacts": ("part", "gang", "position"),
    "bonds": ("from", "to"),
    "drives": ("output", "when"),
}
GUIDE_A = {
    0.75: 7,
    1.0: 10,
    1.5: 14,
    2.5: 20,
    4.0: 28,
    6.0: 38,
    10.0: 55,
    16.0: 80,
    25.0: 110,
    35.0: 140,
    50.0: 180,
    70.0: 225,
}
GUIDE_C, INSULATION_C = 60.0, 105.0
TAP_MM, OVERLOAD = 300.0, 1.35
PROTECTION = ("fuse", "circuit_breaker")
# between these terminals a closed contact can carry the supply on to the next wire
CONTACTS = {
    "relay": (("30", "87"),),
    "key_switch": (("30", "15"), ("30", "75"), ("30", "50")),
    "switch": (("1", "2"),),
    "crash_switch": (("1", "2"),),
    "isolator": (("ign1", "ign2"), ("bleed1", "bleed2")),
    "selector_switch": (("start1", "start2"), ("reverse1", "reverse2")),
    "flasher_electronic": (("49", "49a"),),
    "diode": (("a", "k"),),
}
Rows = list[dict[str, str]]


@pytest.fixture(params=CARS)
def car(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@cache
def text(car: str) -> dict[str, Rows]:
    """The sheets of one car as text: sheet -> rows."""
    found = {}
    for file in SOUND.joinpath(car).iterdir():
        with file.open(encoding="utf-8", newline="") as lines:
            found[file.name.removesuffix(".csv")] = list(csv.DictReader(lines))
    return found


@cache
def job(car: str) -> Job:
    with as_file(SOUND.joinpath(car)) as folder:
        return open_folder(folder)


@cache
def parts(car: str) -> Mapping[str, Part]:
    return {part.id: part for part in job(car).parts}


@cache
def ends(car: str) -> Mapping[str, tuple[str, str]]:
    """Wire -> its two points in full form."""
    terminals, metals = all_terminals(job(car), load_kinds()), metals_of(job(car))
    return {
        wire.id: (canonical_point(wire.from_, terminals, metals), canonical_point(wire.to, terminals, metals))
        for wire in job(car).wires
    }


def test_the_folder_opens_and_loses_nothing(car: str) -> None:
    back = text_from_job(job(car))
    for sheet, rows in text(car).items():
        assert [{name: row[name] for name in rows[0]} for row in back[sheet]] == rows, sheet


@pytest.mark.parametrize(("name", "wires", "parts_there"), [("tourer", 104, 77), ("wagon", 215, 116)])
def test_the_cars_are_whole_cars(name: str, wires: int, parts_there: int) -> None:
    # counts are pinned, not proven
    assert (len(job(name).wires), len(job(name).parts)) == (wires, parts_there)


def test_headings_are_those_of_the_contract_in_its_order(car: str) -> None:
    for sheet, rows in text(car).items():
        assert sheet in SHEETS
        assert list(rows[0]) == [heading for heading in headings(sheet) if heading in rows[0]], sheet


def test_no_row_stands_twice(car: str) -> None:
    for sheet, rows in text(car).items():
        count = Counter(tuple(row[name] for name in KEYS.get(sheet, ("id",))) for row in rows)
        assert [key for key, times in count.items() if times > 1] == [], sheet


def test_an_id_names_one_thing_of_the_car(car: str) -> None:
    # a finding names parts, wires and connectors by id alone
    count = Counter(row.id for rows in (job(car).parts, job(car).wires, job(car).connectors) for row in rows)
    assert set(count.values()) == {1}


def test_every_point_is_a_terminal_or_a_metal(car: str) -> None:
    kinds, there, metals = load_kinds(), all_terminals(job(car), load_kinds()), metals_of(job(car))
    points = [point for pair in ends(car).values() for point in pair]
    points += [f"{need.part}.{need.terminal}" for need in job(car).needs if need.terminal]
    points += [need.pin for need in job(car).needs]
    points += [row.point for row in job(car).requirements]
    points += [cable.drain_to for cable in job(car).cables]
    assert len(points) > 200
    for point in points:
        part, terminal = split_point(point)
        if part in metals:
            continue
        named = terminal_of(kinds[parts(car)[part].kind], terminal)
        assert named is not None or terminal in there[part], point


def test_every_wire_is_drawn_in_full(car: str) -> None:
    for wire in job(car).wires:
        assert all((wire.from_, wire.to, wire.circuit, wire.colour)), wire.id
        assert wire.size_mm2 in GUIDE_A, wire.id
        assert wire.length_mm, wire.id


def test_no_wire_is_shorter_than_the_way_between_its_places(car: str) -> None:
    at = {place.id: (place.x_mm, place.y_mm, place.z_mm) for place in job(car).places}
    for wire in job(car).wires:
        places = [parts(car)[part].place for part, _ in map(split_point, ends(car)[wire.id]) if part in parts(car)]
        if len(places) == 2 and places[0] != places[1]:
            assert wire.length_mm >= dist(at[places[0]], at[places[1]]) + 40.0, wire.id


def test_every_terminal_that_must_be_wired_is(car: str) -> None:
    wired = {point for pair in ends(car).values() for point in pair}
    for part in job(car).parts:
        kind = load_kinds()[part.kind]
        for terminal in kind.terminals:
            assert not terminal.required or f"{part.id}.{terminal.name}" in wired, f"{part.id}.{terminal.name}"
        for group in kind.needs_one_of:
            assert any(f"{part.id}.{name}" in wired for name in group), part.id


def test_a_controller_cavity_takes_one_wire_of_a_colour_of_its_own(car: str) -> None:
    controllers = [part.id for part in job(car).parts if part.kind == "controller"]
    assert len(controllers) == (1 if car == "tourer" else 2)
    for controller in controllers:
        points = Counter(point for pair in ends(car).values() for point in pair if split_point(point)[0] == controller)
        colours = [wire.colour for wire in job(car).wires if controller in map(_part_of, ends(car)[wire.id])]
        assert set(points.values()) == {1}
        assert len(colours) == len(set(colours)) == len(points) >= 14


def test_every_need_has_a_pin_of_its_own_that_can_do_it(car: str) -> None:
    pins = {f"{pin.part}.{pin.terminal}": pin for pin in job(car).controller_pins}
    needs = job(car).needs
    assert all(need.ability in pins[need.pin].abilities for need in needs)
    assert len({need.pin for need in needs}) == len(needs)
    assert {drive.output for drive in job(car).drives} <= {need.id for need in needs}


def test_a_need_is_wired_to_its_pin(car: str) -> None:
    joined = {frozenset(pair) for pair in ends(car).values()}
    there = [need for need in job(car).needs if need.terminal]
    assert len(there) >= 9
    for need in there:
        assert frozenset((f"{need.part}.{need.terminal}", need.pin)) in joined, need.id


def test_no_fuse_is_above_a_wire_anywhere_behind_it(car: str) -> None:
    seen = 0
    for fuse, wires in _behind(car).items():
        for wire in wires:
            own = _tap_rating_a(car, wire, fuse)
            limit_a = min(_rating_a(car, fuse), OVERLOAD * own) if own else _rating_a(car, fuse)
            assert _guide_a(car, wire) >= limit_a, f"{wire.id} behind {fuse}"
            seen += 1
    assert seen > 50


def test_a_wire_without_a_fuse_is_short_or_the_starter_cable(car: str) -> None:
    fused = {wire.id for wires in _behind(car).values() for wire in wires}
    live = [wire for wire in job(car).wires if wire.id not in fused and "BAT.+" in _upstream(car, wire)]
    assert len(live) >= 4
    for wire in live:
        assert wire.length_mm <= TAP_MM or "STA.30" in ends(car)[wire.id], wire.id


def test_the_dipped_beams_share_no_fuse_but_the_main_one(car: str) -> None:
    roles = {part.role: part.id for part in job(car).parts if part.role in ("dipped_left", "dipped_right")}
    behind = _behind(car)
    guards = {
        role: {
            fuse
            for fuse, wires in behind.items()
            if lamp in {p for wire in wires for p in map(_part_of, ends(car)[wire.id])}
        }
        for role, lamp in roles.items()
    }
    plain = {fuse for fuse, part in parts(car).items() if part.kind == "fuse" and not _is_main(part)}
    assert guards["dipped_left"] & plain
    assert guards["dipped_left"] & guards["dipped_right"] & plain == set()


def test_straps_are_short_and_heavy(car: str) -> None:
    straps = [wire for wire in job(car).wires if wire.circuit == "earths"]
    assert {"BAT.-", "engine"} <= {point for wire in straps for point in ends(car)[wire.id]}
    assert all(wire.size_mm2 >= 25.0 and wire.length_mm <= 750.0 for wire in straps)


def test_relays_near_electronics_are_suppressed(car: str) -> None:
    relays = [part for part in job(car).parts if part.kind == "relay"]
    assert len(relays) >= 5
    assert all(part.settings.get("suppression") in ("diode", "resistor") for part in relays)


def test_a_pair_that_must_be_twisted_is(car: str) -> None:
    wires = [wire for wire in job(car).wires if {"can_high", "can_low", "vr_input"} & _abilities(car, wire)]
    assert len(wires) == (0 if car == "tourer" else 8)
    assert all(wire.twist for wire in wires)
    assert set(Counter(wire.twist for wire in wires).values()) <= {2}


def test_the_bus_has_two_ends(car: str) -> None:
    ends_of_bus = [part.settings["ohm"] for part in job(car).parts if part.kind == "terminator"]
    assert ends_of_bus == ([] if car == "tourer" else ["120", "120"])


def test_the_two_cars_differ_in_layout() -> None:
    kinds = {car: {part.kind for part in job(car).parts} for car in CARS}
    assert {"coil_plain", "ballast", "crash_switch", "old_feed", "old_load", "horn_ring"} <= kinds["tourer"]
    assert {"coil_twin", "throttle_electric", "pedal", "selector_switch", "isolator", "led_lamp"} <= kinds["wagon"]
    assert "selector_switch" not in kinds["tourer"]
    assert "ballast" not in kinds["wagon"]


def test_state_variables_are_the_ones_a_driver_knows(car: str) -> None:
    found = {variable.name: variable for variable in variables_of(job(car), load_kinds())}
    usual = {"key", "engine", "battery", "ambient_c", "coolant_c", "lights", "BRK"}
    own = (
        {"CLU", "CRS", "REV", "RNG", "dip", "doors"}
        if car == "tourer"
        else {"selector", "ISO", "hazard", "turning", "parked"}
    )
    assert usual | own <= set(found)
    assert all(variable.rest in variable.values for variable in found.values())
    if car == "wagon":
        assert (found["turning"].values, found["turning"].rest) == (("left", "off", "right"), "off")


def _part_of(point: str) -> str:
    return split_point(point)[0]


def _rating_a(car: str, part: str) -> float:
    return float(parts(car)[part].settings["rating_a"])


def _is_main(part: Part) -> bool:
    return part.settings.get("family", "") == "strip_sf30"


def _abilities(car: str, wire: Wire) -> set[str]:
    pins = {f"{pin.part}.{pin.terminal}": set(pin.abilities) for pin in job(car).controller_pins}
    return set().union(*(pins.get(point, set()) for point in ends(car)[wire.id]))


def _guide_a(car: str, wire: Wire) -> float:
    """What the guide lets a wire carry in the air of its hotter end."""
    air = {place.id: place.ambient_c for place in job(car).places}
    hot_c = max(
        (air[parts(car)[part].place] for part in map(_part_of, ends(car)[wire.id]) if part in parts(car)),
        default=GUIDE_C,
    )
    return GUIDE_A[wire.size_mm2] * sqrt((INSULATION_C - hot_c) / (INSULATION_C - GUIDE_C))


def _tap_rating_a(car: str, wire: Wire, behind: str) -> float | None:
    """The rating of the fuse a short tap ends in, None where the wire is no tap into another fuse."""
    into = [part for part in map(_part_of, ends(car)[wire.id]) if part != behind and _kind(car, part) in PROTECTION]
    return _rating_a(car, into[0]) if into and wire.length_mm <= TAP_MM else None


def _kind(car: str, part: str) -> str:
    return parts(car)[part].kind if part in parts(car) else ""


@cache
def _at_point(car: str) -> Mapping[str, list[Wire]]:
    found: dict[str, list[Wire]] = {}
    for wire in job(car).wires:
        for point in ends(car)[wire.id]:
            found.setdefault(point, []).append(wire)
    return found


def _onward(car: str, point: str) -> Iterator[str]:
    """Points of the same part that a closed contact, a bar or a joint puts the supply on."""
    part, terminal = split_point(point)
    kind = _kind(car, part)
    if kind in ("busbar", "splice", "switch_matrix"):
        yield from (other for other in _at_point(car) if _part_of(other) == part)
    for one, other in CONTACTS.get(kind, ()):
        if terminal == one:
            yield f"{part}.{other}"


def _reached(car: str, start: str) -> dict[str, Wire]:
    """Wires that a supply at a point can reach without passing a fuse or a load."""
    wires: dict[str, Wire] = {}
    seen, todo = {start}, deque([start])
    while todo:
        for wire in _at_point(car).get(todo.popleft(), ()):
            wires[wire.id] = wire
            for point in ends(car)[wire.id]:
                for follow in (point, *_onward(car, point)):
                    if follow not in seen:
                        seen.add(follow)
                        todo.append(follow)
    return wires


@cache
def _behind(car: str) -> Mapping[str, tuple[Wire, ...]]:
    """Fuse -> the wires on its load side, up to the next fuse."""
    return {
        part.id: tuple(_reached(car, f"{part.id}.2").values()) for part in job(car).parts if part.kind in PROTECTION
    }


def _upstream(car: str, wire: Wire) -> set[str]:
    """The battery's live post where the wire hangs on it with no fuse between, isolator contact included."""
    reached = _reached(car, "BAT.+")
    if "ISO" in parts(car):
        reached |= _reached(car, "ISO.2")
    return {"BAT.+"} if wire.id in reached else set()
