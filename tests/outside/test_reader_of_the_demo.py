"""Questions that somebody asks of the demonstration's pack, as `make pack` writes it, with nothing but the paper.

More than twenty kinds, each of every thing there is of its kind: every wire, every fuse, every cavity of every plug.
Answers come from the sheets and from the solved car, never from what fills the paper; words and places are read back
out of the PDF by another program.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

import pypdfium2
import pytest

from loomwright.car import Car
from loomwright.cli.pack import write_paper
from loomwright.examples.shelf import example_folder
from loomwright.network.records import Changes
from loomwright.sheets.csv_folder import open_folder
from tests.outside.test_reader_of_the_pack import DrawingReader, Question, Reader

RUN = {"key": "run", "engine": "idle"}
START = {"key": "start", "engine": "cranking"}
STOPS_FRAC, FLOWS_A = 0.1, 0.05
FED = {
    **{name: f"{name}.1" for name in ("HDL", "HDR", "HML", "HMR", "INJ1", "INJ2", "INJ3", "INJ4", "IDLE", "NP", "PL")},
    **{name: f"{name}.1" for name in ("PR", "REV", "TFL", "TFR", "TTL", "TTR", "LOIL", "LBRK")},
    **{name: f"{name}.+" for name in ("PUMP", "FAN1", "FAN2", "BLOW", "HORN", "WASH")},
    "STR": "STR.50",
    "WIP": "WIP.53a",
}
"""Part -> where its current comes in, of those that work or not by themselves."""


@pytest.fixture(scope="module")
def car() -> Car:
    """The demonstration."""
    return Car(open_folder(example_folder("van")))


@pytest.fixture(scope="module")
def pdf(car: Car, tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """Its pack."""
    path: Path = tmp_path_factory.mktemp("papers") / "van.pdf"
    write_paper(car, path)
    return path.read_bytes()


@pytest.fixture(scope="module")
def reader(pdf: bytes) -> Reader:
    """Somebody with its pack."""
    return Reader(pdf)


def wrong_answers(reader: Reader, asked: Iterator[Question]) -> list[tuple[str, tuple[str, ...], str]]:
    """What was asked, what should be there, and what is there instead; and that something was asked at all."""
    wrong, count = [], 0
    for question in asked:
        count += 1
        row = reader.finds(question)
        if not question.answer or not all(word and word in row for word in question.answer):
            wrong.append((question.asked, question.answer, row))
    assert count
    return wrong


def in_list(
    section: str, keys: Mapping[str, tuple[str, ...]], asked: str, also: tuple[str, ...] = ()
) -> Iterator[Question]:
    """The same question of each line of a list."""
    for key, answer in keys.items():
        yield Question(asked=f"{asked}: {key}", section=section, key=key, keys=(*keys, *also), answer=answer)


def test_what_colour_how_thick_how_long_and_from_where_to_where_is_each_wire(car, reader):
    lines = {
        wire.id: (wire.circuit, wire.colour, f"{wire.size_mm2:g}", wire.from_, wire.to, f"{wire.length_mm:g}")
        for wire in car.filled.wires
    }
    assert len(lines) == 197
    assert wrong_answers(reader, in_list("Wire list", lines, "what is this wire")) == []


def test_which_wires_lie_in_the_screened_cable(car, reader):
    cores = {wire.id: (f"cable {wire.cable}",) for wire in car.filled.wires if wire.cable}
    assert sorted(cores) == ["W231", "W232"]
    others = tuple(wire.id for wire in car.filled.wires)
    assert wrong_answers(reader, in_list("Wire list", cores, "which cable", others)) == []


def test_which_rating_sits_in_each_fuse_where_is_it_and_what_is_it_for(car, reader):
    job = car.filled
    places = {place.id: place.name for place in job.places}
    fuses = {
        part.id: (f"{float(part.settings['rating_a']):g} A", *part.name.split(), *places[part.place].split())
        for part in job.parts
        if part.kind == "fuse"
    }
    assert len(fuses) == 28
    relays = tuple(part.id for part in job.parts if part.kind.startswith(("relay", "step", "flasher")))
    asked = in_list("Fuses and relays", fuses, "what goes in here", (*relays, "relay"))
    assert wrong_answers(reader, asked) == []


@pytest.mark.parametrize(
    ("fuse", "state"),
    [
        ("FPMP", RUN),
        ("FINJ", RUN),
        ("FBLW", {"key": "run", "heater": "on"}),
        ("FBRK", {"brake": "on"}),
        ("FHRN", {"horn": "on"}),
        ("FSL", {"light": "side"}),
    ],
)
def test_what_should_a_fuse_draw(car, reader, fuse, state):
    behind = [wire.id for wire in car.filled.wires if f"{fuse}.2" in (wire.from_, wire.to)]
    solved = [car.solve({**state, **more}).amps for more in ({}, RUN)]
    amps = max(sum(abs(one[wire]) for wire in behind) for one in solved)
    row = reader.finds(Question(asked=fuse, section="Fuses and relays", key=fuse, keys=fuses_of(car), answer=()))
    told = [float(word) for word, unit in zip(row.split(), row.split()[1:], strict=False) if unit.startswith("A,")]
    # what is told is the most of all states that were asked, rounded up
    assert told
    assert max(told) >= 0.995 * amps
    assert max(told) <= 1.12 * amps


@pytest.mark.parametrize(
    ("fuse", "state"),
    [
        ("FSR", {"light": "side"}),
        ("FWIP", {"key": "run", "wipe": "fast", "wash": "on"}),
        ("FDL", {"key": "run", "light": "head"}),
        ("FPMP", RUN),
        ("FHAZ", {"hazard": "on"}),
        ("FST", START),
        ("FINJ", RUN),
    ],
)
def test_what_goes_dead_with_a_fuse(car, reader, fuse, state):
    dead = stopped(car, state, Changes(pulled=(fuse,)))
    row = reader.finds(Question(asked=fuse, section="Fuses and relays", key=fuse, keys=fuses_of(car), answer=()))
    assert dead
    assert [name for name in dead if name not in row.split()] == []
    # and nothing that goes on working in the plainest state is on the list
    alive = set(FED) - set(dead) - set(idle(car, state))
    assert [name for name in sorted(alive) if name in row.split()] == []


@pytest.mark.parametrize(
    ("earth", "state"),
    [
        ("EF", RUN),
        ("EN", {**RUN, "coolant_c": "110"}),
        ("ER", {"key": "run", "light": "head"}),
        ("EL", {"key": "run", "light": "head", "horn": "on"}),
        ("ET", START),
    ],
)
def test_what_goes_dead_with_an_earth_and_which_wires_are_bolted_there(car, reader, earth, state):
    wires = [wire.id for wire in car.filled.wires if f"{earth}.1" in (wire.from_, wire.to)]
    dead = stopped(car, state, Changes(opened=tuple(wires)))
    row = reader.finds(Question(asked=earth, section="Earths and splices", key=earth, keys=earths_of(car), answer=()))
    assert wires
    assert dead
    assert [wire for wire in wires if wire not in row] == []
    assert [name for name in dead if name not in row.split()] == []


def test_where_does_each_splice_sit_and_what_is_in_it(car, reader):
    job = car.filled
    places = {place.id: place.name for place in job.places}
    splices = {}
    for part in job.parts:
        if part.kind in ("splice", "busbar"):
            mine = [wire for wire in job.wires if part.id in (wire.from_.split(".")[0], wire.to.split(".")[0])]
            area = f"{sum(wire.size_mm2 for wire in mine):g}"
            splices[part.id] = (*places[part.place].split(), *(wire.id for wire in mine), area)
    assert len(splices) == 7
    assert wrong_answers(reader, in_list("Earths and splices", splices, "where is it, what is in it")) == []


def test_at_which_peg_of_the_board_does_each_splice_lie(car, reader):
    pegs = {
        f"{part.place} {part.id}": tuple(
            wire.id
            for wire in car.filled.wires
            if part.id in (wire.from_.split(".")[0], wire.to.split(".")[0]) and wire.fitted == "new"
        )
        for part in car.filled.parts
        if part.kind == "splice"
    }
    others = tuple(f"{part.place} {part.id}" for part in car.filled.parts)
    assert wrong_answers(reader, in_list("Layout board", pegs, "what comes out here", (*others, "small"))) == []


def test_how_long_is_each_run_and_what_goes_over_it(car, reader):
    turns = {}
    for page in reader.pages:
        lines = page.splitlines()
        for line in lines if any(one.startswith("Layout board") for one in lines[:3]) else []:
            words = line.split()
            if len(words) > 1 and words[0].isdigit() and words[1].startswith("R") and words[1][1:].isdigit():
                turns[words[1]] = line
    runs = {run.id: run for run in car.filled.runs if run.id in turns}
    assert len(runs) >= 20
    wrong = [
        (name, turns[name])
        for name, run in runs.items()
        if f"{run.length_mm:g}" not in turns[name].split() or (run.covering and run.covering not in turns[name])
    ]
    assert wrong == []


def test_which_wire_sits_in_each_cavity_and_where_does_it_go(car, reader):
    at = {end: wire for wire in car.filled.wires for end in (wire.from_, wire.to)}
    pins = {}
    for pin in car.job.controller_pins:
        wire = at.get(f"ECU.{pin.terminal}")
        if wire is not None:
            there = wire.to if wire.from_ == f"ECU.{pin.terminal}" else wire.from_
            pins[f"{pin.terminal[1:]} {pin.terminal}"] = (wire.id, wire.colour, f"{wire.size_mm2:g}", there)
    assert len(pins) > 35
    empty = tuple(f"{number} empty, plug" for number in range(1, 25))
    others = tuple(f"{pin.terminal[1:]} {pin.terminal}" for pin in car.job.controller_pins)
    assert (
        wrong_answers(reader, in_list("Connectors", pins, "what sits here", (*others, *empty, "XB on", "XS on"))) == []
    )


@pytest.mark.parametrize(("plug", "rows", "columns"), [("XA", 3, 8), ("XB", 2, 10), ("XS", 2, 7)])
def test_which_cavity_is_it_seen_from_the_wire_side_and_from_the_other(pdf, plug, rows, columns):
    wire_side, mating_side = faces_of(pdf, plug, rows * columns)
    by_row = [list(range(first, first + columns)) for first in range(1, rows * columns, columns)]
    assert in_rows(wire_side, rows) == by_row
    assert in_rows(mating_side, rows) == [line[::-1] for line in by_row]


def test_what_is_lost_with_a_plug(car, reader):
    rows = {}
    for plug in ("XA", "XB", "XS"):
        page = next(page for page in reader.pages if any(line.startswith(f"{plug} on ") for line in page.splitlines()))
        after = page[page.index(f"{plug} on ") :]
        rows[plug] = after[: after.index("cav. terminal")]
    wires = [wire.id for wire in car.filled.wires if "SEL" in (wire.from_.split(".")[0], wire.to.split(".")[0])]
    assert stopped(car, START, Changes(opened=tuple(wires))) == ["STR"]
    assert "STR" in rows["XS"].split("Goes dead unplugged:")[1].split()
    needs = {need.pin: need.does.replace("_", " ") for need in car.job.needs if need.pin}
    heard = [needs[f"B{number}"] for number in (1, 3, 4, 5, 6, 7, 8)]
    unread = " ".join(rows["XB"].split("No longer read unplugged:")[1].split())
    assert [does for does in heard if does not in unread] == []
    assert "Goes dead" not in rows["XB"]


def test_what_is_each_pin_of_the_controller_for(car, reader):
    needs = {need.pin: need.does.replace("_", " ") for need in car.job.needs if need.pin}
    pins = {pin: tuple(needs[pin].split()) for pin in needs}
    others = tuple(pin.id for pin in car.job.controller_pins)
    assert len(pins) == 37
    assert wrong_answers(reader, in_list("Controller pins", pins, "what is it for", others)) == []


def test_what_earths_the_coil_of_each_relay(car, reader):
    relays = {name: (other_end(car, f"{name}.85"),) for name in ("KF1", "KF2", "KPMP", "KMR")}
    others = ("KHRN", "KST", "DIP", "FLSH", "KBLW")
    assert wrong_answers(reader, in_list("Fuses and relays", relays, "what pulls it in", others)) == []


def test_what_does_the_meter_read_at_the_controller(car, reader):
    columns = ({}, {"key": "accessory"}, {"key": "run"}, START, RUN)
    solved = [car.solve({"selector": "P", "battery": "full", **state}).volts for state in columns]
    pins = {name: tuple(f"{volts[f'ECU.{name}']:.2f}" for volts in solved) for name in ("A1", "A5", "B5", "B9")}
    others = tuple(pin.id for pin in car.job.controller_pins)
    assert all(float(told[2]) > 1.0 for told in pins.values())
    rows = in_list("Test sheet", pins, "what does it read", others)
    wrong = [
        (asked, answer, row)
        for asked, answer, row in wrong_answers(reader, rows)
        if not all(any(abs(float(word) - near) < 0.02 for near in figures(row)) for word in answer)
    ]
    assert wrong == []


def test_how_many_metres_of_a_colour_are_cut_and_how_long_is_a_piece(car, reader):
    pieces = {wire.id: wire for wire in car.filled.wires if wire.fitted == "new" and not wire.cable}
    for name in ("W203", "W236", "W161", "W342"):
        row = " ".join(line for page in cut_pages(reader) for line in page.splitlines() if name in line.split())
        # 20 mm at each end for another try at the crimp
        assert f"{pieces[name].length_mm + 40:g}" in row.split()


def test_what_is_open_who_answers_and_what_was_agreed(car, reader):
    job = car.job
    snags = {f"snag {row.id}": tuple(row.text.split()) for row in job.snags if row.status == "open"}
    asked = {f"question {row.id}": tuple(row.text.split()) for row in job.questions if row.status != "done"}
    others = ("To buy", "Settled", "snag", "question")
    assert wrong_answers(reader, in_list("Snags and questions", snags | asked, "what is open", others)) == []
    prices = {str(row.revision): (*row.why.split(), row.who) for row in job.changes}
    assert wrong_answers(reader, in_list("Revisions", prices, "what was agreed")) == []


def test_how_is_it_started_and_where_is_it_cut_off(car, reader):
    sheet = next(page for page in reader.pages if "Owner" in page.splitlines()[1])
    turns = [place for place in "PRND321" if works(car, {**START, "selector": place}, "STR") and f" {place}" in sheet]
    assert turns == ["P", "N"]
    assert "Selector to P or N" in sheet
    assert [name for name in ("FM1", "FM2", "FMR") if name not in sheet.split("How to start it")[0]] == []


def test_where_on_the_drawing_is_the_relay_of_a_fan_and_what_colour_is_its_wire(car, pdf):
    drawing = DrawingReader(pdf, "fan1")
    wires = {wire.id: wire for wire in car.filled.wires}
    assert drawing.label("W213") == f"{wires['W213'].size_mm2:g} {wires['W213'].colour}"
    coil, contact = drawing.place_of("contact 1"), drawing.place_of("coil 2")
    assert (drawing.track_at(coil[0]), drawing.track_at(contact[0])) == (2, 1)
    fuse, fan, earth = (drawing.place_of(words) for words in ("FF1", "FAN1", "31 EN"))
    assert fuse[1] > contact[1] > fan[1] > earth[1]


def test_on_which_drawing_does_a_supply_go_on(pdf):
    here, there = DrawingReader(pdf, "fan1"), DrawingReader(pdf, "pump")
    assert "← pump 2" in here.lines
    assert there.track_at(there.place_of("coil 2")[0]) == 1
    assert there.track_at(there.place_of("contact 1")[0]) == 2


# ------------------------------------------------------------------ the car and the page


def wire_at(car: Car, point: str) -> str:
    """The wire at a terminal."""
    return next(wire.id for wire in car.filled.wires if point in (wire.from_, wire.to))


def other_end(car: Car, point: str) -> str:
    """Where the wire at a terminal goes."""
    wire = next(wire for wire in car.filled.wires if point in (wire.from_, wire.to))
    return wire.to if wire.from_ == point else wire.from_


def fuses_of(car: Car) -> tuple[str, ...]:
    """Everything that begins a line of fuses and relays."""
    return (*(part.id for part in car.filled.parts if part.kind == "fuse"), "Relays:", "relay", "KF1", "KF2")


def earths_of(car: Car) -> tuple[str, ...]:
    """Everything that begins a line of earths."""
    return (
        *(part.id for part in car.filled.parts if part.kind == "earth_point"),
        "plate_left",
        "plate_right",
        "Splices",
    )


def drawn(car: Car, state: Mapping[str, str], changes: Changes | None = None) -> dict[str, float]:
    """Part -> what it draws. [A]"""
    solved = car.solve(state) if changes is None else car.solve(state, changes=changes)
    return {name: abs(solved.amps[wire_at(car, point)]) for name, point in FED.items()}


def works(car: Car, state: Mapping[str, str], part: str) -> bool:
    """Whether a part draws current in a state."""
    return drawn(car, state)[part] > FLOWS_A


def idle(car: Car, state: Mapping[str, str]) -> list[str]:
    """What draws nothing in a state."""
    return [name for name, amps in drawn(car, state).items() if amps <= FLOWS_A]


def stopped(car: Car, state: Mapping[str, str], changes: Changes) -> list[str]:
    """What drew current and does not any more."""
    before, after = drawn(car, state), drawn(car, state, changes)
    return [name for name, amps in before.items() if amps > FLOWS_A and after[name] < STOPS_FRAC * amps]


def figures(row: str) -> list[float]:
    """The figures of a line."""
    found = []
    for word in row.split():
        try:
            found.append(float(word))
        except ValueError:
            continue
    return found


def cut_pages(reader: Reader) -> list[str]:
    """The pages of the cut list."""
    return [page for page in reader.pages if any(line.startswith("Cut list") for line in page.splitlines()[:3])]


def faces_of(pdf: bytes, plug: str, ways: int) -> tuple[dict[int, tuple[float, float]], dict[int, tuple[float, float]]]:
    """The numbers in the cavities of a plug's two faces, each with where it stands on the page. [points]"""
    with pypdfium2.PdfDocument(pdf) as document:
        for page in document:
            text = page.get_textpage()
            words = text.get_text_range()
            if "Connectors" not in words[:60] or f"\n{plug} on " not in words:
                continue
            begin = words.index(f"\n{plug} on ")
            middle, end = words.index("wire side: as", begin), words.index("mating side: as", begin)
            return numbers_in(text, words, begin, middle, ways), numbers_in(text, words, middle, end, ways)
    raise LookupError(plug)


def numbers_in(
    text: pypdfium2.PdfTextPage, words: str, begin: int, end: int, ways: int
) -> dict[int, tuple[float, float]]:
    """The numbers that stand alone among other words in a stretch of text, and where."""
    found, at = {}, begin
    for word in words[begin:end].replace("\n", " ").split(" "):
        bare = word.strip()
        if bare.isdigit() and 1 <= int(bare) <= ways:
            left, bottom, right, _ = text.get_charbox(at + word.index(bare))
            found[int(bare)] = ((left + right) / 2.0, bottom)
        at += len(word) + 1
    return found


def in_rows(spots: Mapping[int, tuple[float, float]], rows: int) -> list[list[int]]:
    """Numbers by rows from the top, each row from the left."""
    down = sorted(spots, key=lambda number: -spots[number][1])
    wide = len(down) // rows
    return [
        sorted(down[first : first + wide], key=lambda number: spots[number][0]) for first in range(0, len(down), wide)
    ]
