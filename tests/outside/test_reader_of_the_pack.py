"""Questions that somebody under a car asks of the paper, answered from the printed words alone.

Twenty of the lists, and what is only on the drawings: which track, by where the words stand on the page.

The answers are taken from the sheets and from the solved car; the words are read back out of the PDF by another
program. A row is found as a person finds it: the section by its name, the line that begins with what is asked for, down
to the next line that begins with another of its kind.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

import pypdfium2
import pytest

from loomwright.car import Car
from loomwright.drawings.board.board_sheets import board_print
from loomwright.job.reading import job_from_text
from loomwright.network.records import Changes
from loomwright.pages.paper_files import drawing_pages
from loomwright.writers.paper import pack_pdf
from tests.handover.bench_van import bench_rows

pytestmark = pytest.mark.long  # the demonstration is asked in every run: `test_reader_of_the_demo`

LIVE_V = 6.0


@dataclass(frozen=True, kw_only=True)
class Question:
    """What is asked, where a person looks, what the line begins with, and what must be found there."""

    asked: str
    section: str
    key: str
    keys: Collection[str]
    answer: tuple[str, ...]


class Reader:
    """Somebody who has the printed pack and nothing else."""

    def __init__(self, pdf: bytes) -> None:
        with pypdfium2.PdfDocument(pdf) as document:
            self.pages = [page.get_textpage().get_text_range().replace("\ufffe", "") for page in document]

    def finds(self, question: Question) -> str:
        """The words of the row that was looked for; all of them where it stands more than once."""
        found = []
        for page in self.pages:
            lines = page.splitlines()
            if not any(line.startswith(question.section) for line in lines[:3]):
                continue
            starts = [place for place, line in enumerate(lines) if _begins(line, question.key)]
            for start in starts:
                ends = (
                    place
                    for place in range(start + 1, len(lines))
                    if any(_begins(lines[place], key) for key in question.keys if key != question.key)
                )
                found.append(" ".join(lines[start : next(ends, len(lines))]))
        return " ".join(found)


class DrawingReader:
    """Somebody with one circuit drawing of the pack: words, and where on the page they stand."""

    def __init__(self, pdf: bytes, circuit: str) -> None:
        with pypdfium2.PdfDocument(pdf) as document:
            for page in document:
                text = page.get_textpage()
                words = text.get_text_range().replace("\ufffe", "")
                lines = words.splitlines()
                strip = [place for place, line in enumerate(lines) if line.startswith("beside each wire")]
                if not strip or lines[strip[0] - 1] != circuit:
                    continue
                self.lines = lines
                self.spots = list(_spots(text))
                return
        raise LookupError(circuit)

    def label(self, wire: str) -> str:
        """What stands under the id of a wire: its size and colour."""
        return self.lines[self.lines.index(wire) + 1]

    def place_of(self, words: str) -> tuple[float, float]:
        """Where some words begin, across and up. [points]"""
        letters = "".join(letter for letter, _, _ in self.spots)
        at = letters.index(words.replace(" ", ""))
        return self.spots[at][1:]

    def middle_of(self, words: str) -> float:
        """Where the middle of some words stands, across [points]: the names of earths stand under their symbols."""
        letters = "".join(letter for letter, _, _ in self.spots)
        bare = words.replace(" ", "")
        at = letters.index(bare)
        return (self.spots[at][1] + self.spots[at + len(bare) - 1][1]) / 2.0

    def track_at(self, across: float) -> int:
        """The track that words belong to: its number stands at the foot, below all symbols, at the words' left."""
        letters = "".join(letter for letter, _, _ in self.spots)
        line = next(line for line in self.lines if line.split()[:2] == ["1", "2"])
        start = letters.index("".join(line.split()))
        tracks = []
        for number in line.split():
            tracks.append((self.spots[start][1], int(number)))
            start += len(number)
        return max(track for left, track in tracks if left <= across + 6.0)


def _spots(text: pypdfium2.PdfTextPage) -> Iterator[tuple[str, float, float]]:
    """The letters of a page, without blanks, and where they stand."""
    for place in range(text.count_chars()):
        letter = text.get_text_range(place, 1)
        if letter.strip():
            left, bottom, _, _ = text.get_charbox(place)
            yield letter, left, bottom


def _begins(line: str, key: str) -> bool:
    return line.split()[: len(key.split())] == key.split()


ON = {"key": "run", "engine": "idle", "lights": "on", "brake": "on"}


def questions(car: Car) -> Iterator[Question]:
    """The set questions, with answers from the job."""
    yield from _of_wires(car)
    yield from _of_fuses(car)
    yield from _of_plugs(car)
    yield from _of_the_rest(car)


def _of_wires(car: Car) -> Iterator[Question]:
    wires = {wire.id: wire for wire in car.filled.wires}
    asked = {
        "what colour is W12?": ("W12", wires["W12"].colour),
        "how thick is W17, which the tool decided?": ("W17", f"{wires['W17'].size_mm2:g}"),
        "how long is W18, by its route?": ("W18", f"{wires['W18'].length_mm:g}"),
        "from where to where does W8 go?": ("W8", wires["W8"].from_, wires["W8"].to),
        "which cable is W6 a core of?": ("W6", wires["W6"].cable),
        "what is crimped to W14?": ("W14", wires["W14"].terminal_from, wires["W14"].seal_from),
    }
    for words, (name, *answer) in asked.items():
        yield Question(asked=words, section="Wire list", key=name, keys=wires, answer=tuple(answer))


def _of_fuses(car: Car) -> Iterator[Question]:
    parts = {part.id: part for part in car.filled.parts}
    fuses = [name for name, part in parts.items() if part.kind == "fuse"]
    for name in fuses:
        rating = f"{float(parts[name].settings['rating_a']):g} A"
        asked = f"which rating goes into {name}?"
        yield Question(asked=asked, section="Fuses and relays", key=name, keys=fuses, answer=(rating,))
    before, without = car.solve(ON), car.solve(ON, changes=Changes(pulled=("F1",)))
    lamps = [name for name, part in parts.items() if part.kind == "lamp"]
    dark = [name for name in lamps if _is_live(before.volts[f"{name}.1"]) and not _is_live(without.volts[f"{name}.1"])]
    asked = "which lamps go dark without F1?"
    yield Question(asked=asked, section="Fuses and relays", key="F1", keys=["F2", "F3", "Relays:"], answer=tuple(dark))
    asked = "what earths the coil of the fan relay?"
    coil = _other_end(car, "KF.85")
    yield Question(asked=asked, section="Fuses and relays", key="KF", keys=["small van,"], answer=(coil,))
    amps = abs(car.solve({"key": "run", "engine": "idle"}).amps[_wire_at(car, "F2.1")])
    asked = "what should F2 draw with the fan on?"
    yield Question(asked=asked, section="Fuses and relays", key="F2", keys=fuses, answer=(f"{amps:.0f} A",))


def _of_plugs(car: Car) -> Iterator[Question]:
    plugs = {row.id: row for row in car.filled.connectors}
    for pin in ("A1", "A4"):
        number = int(pin.removeprefix("A"))
        key, after = f"{number} {pin}", ["2 A2", "3 A3", "5 empty,"]
        asked = f"which wire sits in cavity {number} of XE?"
        yield Question(asked=asked, section="Connectors", key=key, keys=after, answer=(_wire_at(car, f"ECU.{pin}"),))
    faces = ("1 2 3 4 5 6 wire side", "3 2 1 6 5 4 mating side")
    asked = "how does XE look from the wire side, and from the other?"
    yield Question(asked=asked, section="Connectors", key="XE on", keys=["XF on"], answer=faces)
    asked = "what family is XF, and how many ways has it?"
    told = (plugs["XF"].family, f"ways {plugs['XF'].ways}")
    yield Question(asked=asked, section="Connectors", key="XF on", keys=["small van,"], answer=told)


def _of_the_rest(car: Car) -> Iterator[Question]:
    job = car.filled
    bolted = [wire.id for wire in job.wires if "body" in (wire.from_, wire.to) and wire.fitted != "removed"]
    asked = "which wires are bolted to the body?"
    yield Question(asked=asked, section="Earths and splices", key="body", keys=["engine"], answer=tuple(bolted))
    after = ["To buy", "snag", "question"]
    asked = "what is open of snag S1?"
    open_snag = next(row.text for row in job.snags if row.id == "S1")
    yield Question(asked=asked, section="Snags and questions", key="snag S1", keys=after, answer=(open_snag,))
    asked = "what must the owner still say?"
    told = next(row.text for row in job.questions if row.id == "Q1")
    yield Question(asked=asked, section="Snags and questions", key="question Q1", keys=after, answer=(told,))
    (run,) = job.runs
    asked = "how long is the run to the rear, and what goes over it?"
    told_of = (f"{run.length_mm:g}", run.covering)
    yield Question(asked=asked, section="Layout board", key=f"1 {run.id}", keys=["What"], answer=told_of)


def _is_live(volts: float | None) -> bool:
    return volts is not None and abs(volts) > LIVE_V


def _wire_at(car: Car, point: str) -> str:
    return next(wire.id for wire in car.filled.wires if point in (wire.from_, wire.to))


def _other_end(car: Car, point: str) -> str:
    wire = next(wire for wire in car.filled.wires if point in (wire.from_, wire.to))
    return wire.to if wire.from_ == point else wire.from_


def sheets() -> dict[str, list[dict[str, str]]]:
    """The bench van, with a run between its two places."""
    rows = bench_rows()
    rows["runs"] = [{"id": "R1", "from": "bay", "to": "rear", "length_mm": "2350", "covering": "conduit"}]
    rows["parts"].append({"id": "SPL", "kind": "splice", "place": "bay"})
    rows["wires"].append({"id": "W30", "circuit": "lights", "from": "SPL.1", "to": "TL.1", "size_mm2": "1"})
    return rows


@pytest.fixture(scope="module")
def car() -> Car:
    """That van."""
    return Car(job_from_text(sheets()))


@pytest.fixture(scope="module")
def pdf(car) -> bytes:
    """Its pack."""
    return pack_pdf(car.pack(), drawing_pages(car), board=board_print(car.board()))


@pytest.fixture(scope="module")
def reader(pdf) -> Reader:
    """Somebody with its pack."""
    return Reader(pdf)


def test_twenty_set_questions_are_answered_from_the_paper_alone(car, reader):
    asked = list(questions(car))
    assert len(asked) == 20
    assert all(question.answer and all(question.answer) for question in asked)
    wrong = []
    for question in asked:
        row = reader.finds(question)
        if not all(word in row for word in question.answer):
            wrong.append((question.asked, question.answer, row))
    assert wrong == []


def test_the_drawing_leads_from_a_relays_contact_to_its_coil_and_from_the_load_to_its_earth(car, pdf):
    drawing = DrawingReader(pdf, "fan")
    wires = {wire.id: wire for wire in car.filled.wires}
    assert drawing.label("W15") == f"{wires['W15'].size_mm2:g} {wires['W15'].colour}"
    coil, contact = drawing.place_of("contact 2"), drawing.place_of("coil 1")
    # each says the track of the other, and stands in the track that the other says
    assert (drawing.track_at(coil[0]), drawing.track_at(contact[0])) == (1, 2)
    fuse, fan, earth = (drawing.place_of(words) for words in ("F2", "cooling fan", "31 body"))
    across = (fuse[0], fan[0], drawing.middle_of("31 body"))
    assert {drawing.track_at(one) for one in across} == {2}
    # down as the current flows: the fuse, the contact, the fan, the earth
    assert fuse[1] > contact[1] > fan[1] > earth[1]
    assert "← supply 3" in drawing.lines


def test_a_drawing_says_on_which_drawing_and_track_its_supply_goes_on(car, pdf):
    there = DrawingReader(pdf, "supply")
    assert there.track_at(there.place_of("fan 2")[0]) != there.track_at(there.place_of("lights 1")[0])
    here = DrawingReader(pdf, "fan")
    # the arrow of the supply drawing names the track that the contact of the fan's relay stands in
    assert here.track_at(here.place_of("coil 1")[0]) == int(there.lines[there.lines.index("KF.30") - 1].split()[1])
