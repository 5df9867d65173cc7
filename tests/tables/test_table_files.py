"""What must hold for every table of figures, whatever it is about."""

from __future__ import annotations

from importlib import resources

import pytest

from loomwright.tables.load import read_rows, table_names

TABLES = tuple(name for name in table_names() if name != "sources")
LAST_COLUMNS = ("source", "place", "grade", "note")
GRADES = ("read", "measured", "recalled")
NEVER_READ = ("from-memory", "common-practice", "our-choice", "worked-out")
SOURCE_KINDS = (
    "standard",
    "handbook",
    "paper",
    "public body",
    "maker's sheet",
    "own measurement",
    "recalled",
    "own choice",
    "secondary",
)
# columns that together name a row, where the first alone does not
KEYS = {
    "fuse_gates": ("family", "from_a", "to_a", "load_percent"),
    "fuse_values": ("family", "rating_a"),
    "fuse_ambient": ("family", "rating_a", "ambient_c"),
    "words": ("word", "list"),
    "drive_cycles": ("cycle", "at_s"),
}
WORD_COLUMNS = (
    "awg",
    "family",
    "joint",
    "class",
    "segment",
    "word",
    "list",
    "code",
    "name",
    "terminal",
    "meaning",
    "letter",
    "words",
    "stage",
    "per",
    "strands",
    "standard",
    "also_called",
    "ratings_a",
    "colour",
    "colour_code",
    "unit",
    "operation",
    "covering",
    "protects",
    "shape",
    "shared",
    *LAST_COLUMNS,
)
# columns of words that other tables could have figures under
WORDS_OF = {
    "drive_cycles": ("cycle",),
    "fault_odds": ("kind", "says"),
    "gear_wishes": ("wish",),
    "symptom_shares": ("what",),
    "stand_ins": ("key", "ability", "stands_in", "how", "loses"),
    "classes": ("noise",),
    "crimp_terminals": ("terminal", "family", "studs", "die"),
    "wire_seals": ("seal",),
    "old_wire_functions": (
        *("function", "off", "accessory", "run", "start", "start_in_gear", "side_lamps", "head_lamps", "turn"),
        *("brake", "reverse", "horn", "wiper", "heater", "fuses_out", "lamp", "seen", "source_kind", "load_kind"),
        *("live_when", "control", "fate", "reason", "near"),
    ),
    "old_wire_looks": ("look", "key", "control", "at", "warning"),
    "old_wire_colours": ("row", "convention", "function"),
    "old_wire_cautions": ("caution", "colours", "called", "places", "functions", "says"),
}
SOURCES = {row["key"]: row for row in read_rows("sources")}


@pytest.mark.parametrize("name", TABLES)
def test_last_columns_say_where_the_row_is_from(name: str) -> None:
    assert tuple(read_rows(name)[0])[-4:] == ("source", "place", "grade", "note")


@pytest.mark.parametrize("name", TABLES)
def test_every_row_has_a_source_that_is_listed_and_a_grade(name: str) -> None:
    for row in read_rows(name):
        assert row["source"] in SOURCES, row
        assert row["grade"] in GRADES, row


@pytest.mark.parametrize("name", TABLES)
def test_what_is_from_memory_or_ours_is_never_graded_read(name: str) -> None:
    graded = [row for row in read_rows(name) if row["source"] in NEVER_READ]
    assert [row for row in graded if row["grade"] == "read"] == []


@pytest.mark.parametrize("name", TABLES)
def test_a_row_that_was_read_says_where_in_its_source(name: str) -> None:
    assert [row for row in read_rows(name) if row["grade"] == "read" and not row["place"]] == []


@pytest.mark.parametrize("name", TABLES)
def test_keys_are_unique(name: str) -> None:
    columns = KEYS.get(name, (next(iter(read_rows(name)[0])),))
    keys = [tuple(row[column] for column in columns) for row in read_rows(name)]
    assert len(keys) == len(set(keys))


@pytest.mark.parametrize("name", TABLES)
def test_figures_are_numbers_or_blank(name: str) -> None:
    for row in read_rows(name):
        for column, text in row.items():
            if column not in (*WORD_COLUMNS, *WORDS_OF.get(name, ())) and text:
                assert float(text) == float(text), (name, column)


@pytest.mark.parametrize("name", [*TABLES, "sources"])
def test_a_page_beside_the_table_says_how_it_may_be_used(name: str) -> None:
    page = resources.files("loomwright.tables").joinpath(f"{name}.md")
    assert page.is_file()
    assert page.read_text(encoding="utf-8").startswith("# ")


def test_sources_have_a_kind_a_title_and_the_day_they_were_read() -> None:
    for key, row in SOURCES.items():
        assert row["kind"] in SOURCE_KINDS, key
        assert row["title"], key
        assert bool(row["read"]) is (key not in NEVER_READ), key


def test_sources_are_listed_once() -> None:
    assert len(SOURCES) == len(read_rows("sources"))
