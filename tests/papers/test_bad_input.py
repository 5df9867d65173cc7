"""Whatever stands in the sheets, the papers are made, and say what is missing."""

from __future__ import annotations

import pypdfium2
import pytest

from loomwright.car import Car
from loomwright.drawings.board.board_sheets import board_print
from loomwright.job.reading import job_from_text
from loomwright.pages.paper_files import drawing_pages
from loomwright.writers.board_paper import board_pdf
from loomwright.writers.paper import pack_pdf

LONG = "a very long name of a lamp " * 8
NAMES = {
    "two hundred letters": LONG[:200],
    "two hundred letters without a blank": "x" * 200,
    "emoji": "\U0001f697 left \U0001f4a1",
    "right to left": "מנורה קדמית شمال",
}


def rows(**more):
    """A lamp behind a fuse, by runs between two places."""
    sheets = {
        "vehicle": [{"name": "title", "value": "small"}],
        "places": [{"id": "a", "name": "front"}, {"id": "b", "name": "rear"}],
        "runs": [{"id": "R1", "from": "a", "to": "b", "length_mm": "900"}],
        "parts": [
            {"id": "B", "kind": "battery", "place": "a"},
            {"id": "F", "kind": "fuse", "place": "a", "settings": "rating_a=10"},
            {"id": "L", "kind": "lamp", "place": "b"},
        ],
        "wires": [
            {"id": "W1", "from": "B.+", "to": "F.1", "size_mm2": "2.5"},
            {"id": "W2", "from": "F.2", "to": "L.1", "size_mm2": "1", "colour": "WH/BU"},
            {"id": "W3", "from": "L.2", "to": "body", "size_mm2": "1"},
            {"id": "W4", "from": "B.-", "to": "body", "size_mm2": "16", "length_mm": "300"},
        ],
    }
    return {**sheets, **more}


def strange():
    """All of it at once: a wire with no route, a connector with no family, names of any letters, a wide margin."""
    sheets = rows(connectors=[{"id": "XL", "part": "L"}])
    sheets["parts"].append({"id": "H", "kind": "horn"})
    sheets["wires"].append({"id": "W9", "from": "F.2", "to": "H.+", "size_mm2": "1"})
    for number, name in enumerate(NAMES.values()):
        sheets["parts"].append({"id": f"N{number}", "kind": "lamp", "name": name, "place": "b"})
        sheets["wires"].append({"id": f"W2{number}", "from": "F.2", "to": f"N{number}.1", "size_mm2": "1"})
    return sheets


def printed(sheets, **how):
    """The car of a job, and the words of its pack without line breaks."""
    car = Car(job_from_text(sheets))
    pdf = pack_pdf(car.pack(), drawing_pages(car), board=board_print(car.board(), **how))
    with pypdfium2.PdfDocument(pdf) as document:
        words = " ".join(page.get_textpage().get_text_bounded() for page in document)
    return car, " ".join(words.replace("\ufffe", "").split())


@pytest.fixture(scope="module")
def made():
    """The strange job, printed with a margin of 60 mm."""
    return printed(strange(), margin_mm=60.0)


def test_a_wire_with_no_route_is_told_on_the_board_and_stands_in_the_wire_list(made):
    car, words = made
    assert [(one.what, one.id) for one in car.board().missing if one.id == "W9"] == [("wire", "W9")]
    assert "What is not on the board" in words
    assert words.count("W9") >= 3


def test_a_connector_with_no_family_and_no_layout_is_drawn_as_a_strip_that_says_so(made):
    _, words = made
    assert "XL on L" in words
    assert "not to scale, not the shape of the face" in words
    assert "family not given" in words


@pytest.mark.parametrize("name", NAMES.values(), ids=list(NAMES))
def test_names_of_any_letters_and_any_length_are_printed(made, name):
    bare = made[1].replace(" ", "").replace("\u200b", "")
    wanted = max(name.split(), key=len)[:12]
    # what runs from right to left may be read back in either order
    assert wanted in bare or wanted[::-1] in bare


def test_a_printers_margin_that_is_too_wide_is_said_on_the_paper(made):
    car, words = made
    assert "A margin of 60 mm leaves no room for the rule on A4" in words
    with pypdfium2.PdfDocument(board_pdf(board_print(car.board(), margin_mm=60.0))) as document:
        words = ["".join(page.get_textpage().get_text_bounded().split()) for page in document]
    told = ["leavesnoroom" in one for one in words]
    # on the page of the whole, and on every sheet that is printed with it
    assert told[0]
    assert told.count(True) == 1 + len(board_print(car.board(), margin_mm=60.0).sheets)


def test_a_job_with_nothing_in_it_has_a_paper_that_says_how_little_it_knows():
    _, words = printed({"parts": [{"id": "B", "kind": "battery"}]})
    assert "job without a title" in words
    assert "how this car is started does not stand in them" in words
