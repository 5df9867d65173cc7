"""Text -> job -> text -> job: nothing that was typed is lost, whatever stands in the sheets."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.job.reading import job_from_text
from loomwright.job.schema import SHEETS, columns, headings
from loomwright.job.writing import text_from_job, text_of_row
from loomwright.tables.limits import CLASSES, COLOURS
from tests.job.small import SOUND, read, sheets

names = st.text(alphabet="abcXYZ012_-", min_size=1, max_size=8)
words = st.text(alphabet=st.characters(blacklist_categories=("Cs", "Cc")), max_size=20)
colours = st.one_of(
    st.just(""),
    st.sampled_from(sorted(COLOURS)),
    st.tuples(st.sampled_from(sorted(COLOURS)), st.sampled_from(sorted(COLOURS)))
    .filter(lambda pair: pair[0] != pair[1])
    .map(lambda pair: " / ".join(pair).lower()),
)
lengths = st.one_of(
    st.sampled_from(["", "1200", "1.2 m", "12,5", "3 ft", "0012", "1e3", " 7 "]),
    st.floats(1, 99_999, allow_nan=False).map(repr),
)
sizes = st.sampled_from(["", "0.5", "0,75", "16 AWG", "1.0", "2.50 mm2", "4"])
settings_texts = st.sampled_from(
    ["", "rating_a=10", "rating_a = 7,5;family=blade_c", "rating_a=15 A;", "family=blade_c; rating_a=5000 mA"]
)
yes_no = st.sampled_from(["", "yes", "No", "true"])
own_columns = st.dictionaries(names.map(lambda name: f"my {name}"), words, max_size=2)


@st.composite
def jobs(draw):
    """A small sound job with drawn ids, cells, columns of its own and a sheet of its own."""
    ids = draw(st.lists(names, min_size=1, max_size=5, unique=True))
    own = draw(own_columns)
    named = {
        "parts": [{"id": "B1", "kind": "battery"}]
        + [
            {
                "id": f"f{name}",
                "kind": "fuse",
                "settings": draw(settings_texts),
                "notes": draw(words),
                "name": draw(words),
            }
            for name in ids
        ],
        "circuits": [{"id": "c1", "class": draw(st.sampled_from(sorted(CLASSES))), "road_safety": draw(yes_no)}],
        "places": [{"id": name, "x_mm": draw(lengths), "wet": draw(yes_no), "zone": draw(words)} for name in ids],
        "wires": [
            {
                "id": name,
                "circuit": draw(st.sampled_from(["", "c1", "linkage"])),
                "from": draw(st.sampled_from(["", "body", f"f{name}.1", f"f{ids[0]}.2"])),
                "to": f"f{name}.2",
                "colour": draw(colours),
                "length_mm": draw(lengths),
                "size_mm2": draw(sizes),
                "notes": draw(words),
                **{heading: draw(words) for heading in own},
            }
            for name in ids
        ],
        "requirements": [
            {
                "id": name,
                "point": f"f{name}.1",
                "when": draw(
                    st.sampled_from(["", "key=run", "key=run|start,coolant_c >= 95", "always", "before.key=run"])
                ),
                "must": draw(st.sampled_from(["live", "Dead", ">= 9 V", "<=0,5V", "< 500 mV"])),
            }
            for name in ids
        ],
    }
    if own:
        named["my sheet"] = [{**own, "first": "x"}]
    return named


@settings(max_examples=60)
@given(jobs())
def test_a_job_written_and_read_is_the_same_job(named):
    job = job_from_text(named)
    text = text_from_job(job)
    assert job_from_text(text) == job
    assert text_from_job(job_from_text(text)) == text


@settings(max_examples=60)
@given(jobs())
def test_every_cell_comes_back_as_typed(named):
    text = text_from_job(job_from_text(named))
    for sheet, rows in named.items():
        for typed, written in zip(rows, text[sheet], strict=True):
            for heading, cell in typed.items():
                blank = not cell.strip() and heading in (headings(sheet) if sheet in SHEETS else ())
                assert written[heading] == ("" if blank else cell), (sheet, heading)


@settings(max_examples=40)
@given(jobs())
def test_without_what_was_typed_the_usual_forms_read_as_the_same_values(named):
    job = job_from_text(named)
    plain = replace(job, **{sheet: tuple(replace(row, written={}) for row in getattr(job, sheet)) for sheet in SHEETS})
    assert job_from_text(text_from_job(plain)) == plain


def test_the_small_job_comes_back_whole():
    job = read(sheets())
    text = text_from_job(job)
    assert job_from_text(text) == job
    for sheet, rows in SOUND.items():
        for typed, written in zip(rows, text[sheet], strict=True):
            assert {heading: cell for heading, cell in written.items() if cell} == {
                heading: cell for heading, cell in typed.items() if cell
            }
            assert tuple(written) == headings(sheet)


_SAMPLES = {"number": 1.0, "count": 1}


def test_every_column_of_every_sheet_can_be_written_blank():
    for sheet, row_type in SHEETS.items():
        needed = {column.name: column.kind for column in columns(sheet) if column.required}
        row = (
            row_type(**{name.replace("from", "from_"): _SAMPLES.get(kind, "x") for name, kind in needed.items()})
            if not (needed.keys() & {"when", "must"})
            else getattr(read(sheets()), sheet)[0]
        )
        assert set(text_of_row(sheet, row)) == set(headings(sheet))


def test_after_an_edit_the_new_value_is_written_and_not_the_old_text():
    job = read(sheets())
    wire = job.wires[2]
    assert wire.written["length_mm"] == "1.2 m"
    assert text_of_row("wires", replace(wire, length_mm=900.0))["length_mm"] == "900"
    assert text_of_row("wires", replace(wire, length_mm=None))["length_mm"] == ""
    assert text_of_row("wires", replace(wire, length_mm=1200.0))["length_mm"] == "1.2 m"


def test_settings_typed_with_a_comma_come_back_until_they_are_changed():
    named = sheets()
    named["parts"][1]["settings"] = "rating_a=7,5;family=blade_c"
    part = read(named).parts[1]
    assert text_of_row("parts", part)["settings"] == "rating_a=7,5;family=blade_c"
    changed = replace(part, settings={**part.settings, "rating_a": "10"})
    assert text_of_row("parts", changed)["settings"] == "rating_a=10; family=blade_c"


def test_a_text_that_no_longer_reads_is_not_given_back():
    wire = replace(read(sheets()).wires[2], written={"length_mm": "long"})
    assert text_of_row("wires", wire)["length_mm"] == "1200"


def test_what_a_blank_cell_means_is_given_back_as_it_stood():
    named = sheets()
    named["wires"][0]["fitted"] = ""
    named["wires"][1]["fitted"] = "new"
    job = read(named)
    assert [wire.fitted for wire in job.wires[:2]] == ["new", "new"]
    assert [row["fitted"] for row in text_from_job(job)["wires"][:2]] == ["", "new"]


def test_empty_sheets_are_left_out():
    assert "wires" not in text_from_job(replace(read(sheets()), wires=()))
