"""Files that are no sound workbook: told as what they are, never opened further than is safe, never a traceback."""

from __future__ import annotations

import io
import subprocess
import sys
import zipfile

import pytest
from python_calamine import CalamineError

from loomwright.refusals import BadDocument
from loomwright.sheets.workbook import open_workbook, read_workbook
from loomwright.sheets.workbook_writing import write_workbook
from tests.job.small import read, sheets
from tests.sheets.raw_workbook import OFFICE, PACKAGE, packed, parts, row, sheet, workbook

OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
PARTS = {"parts": sheet(row(1, "id", "kind"), row(2, "B1", "battery"))}


def refused(data, tmp_path):
    path = tmp_path / "van.xlsx"
    path.write_bytes(data)
    with pytest.raises(BadDocument) as refusal:
        open_workbook(path)
    for problem in refusal.value.problems:
        assert problem.found
        assert problem.allowed
        assert problem.mend
        assert problem.sheet or "van.xlsx" in problem.found
    return refusal.value.problems


def only(data, tmp_path):
    (problem,) = refused(data, tmp_path)
    return problem


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "is empty"),
        (b"id,kind\nB1,battery\n", "is a text"),
        (b"\x89PNG\r\n\x00\x00", "is something else"),
        (OLE + b"\0" * 600 + "Workbook".encode("utf-16-le"), "is a workbook of the old sort (.xls)"),
        (OLE + b"\0" * 600 + "EncryptedPackage".encode("utf-16-le"), "is under a password"),
        (packed({"mimetype": "application/vnd.oasis.opendocument.spreadsheet", "content.xml": "<x/>"}), "(.ods)"),
        (packed({"xl/workbook.bin": "x"}), "(.xlsb)"),
        (packed({"a.txt": "x"}), "a zip of something else"),
    ],
)
def test_another_sort_of_file_is_told_as_what_it_is(data, said, tmp_path):
    assert said in only(data, tmp_path).found


def test_a_document_of_text_is_no_workbook(tmp_path):
    related = (
        f'<Relationships xmlns="{PACKAGE}"><Relationship Id="a" Type="{OFFICE}/officeDocument" Target="word/d.xml"/>'
    )
    document = packed({"_rels/.rels": related + "</Relationships>", "word/d.xml": "<document/>"})
    assert "a zip of something else" in only(document, tmp_path).found


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(BadDocument, match="is not there"):
        open_workbook(tmp_path / "van.xlsx")
    with pytest.raises(BadDocument, match="is a folder"):
        open_workbook(tmp_path)


def test_a_file_cut_off_anywhere_is_told(tmp_path):
    whole = workbook(PARTS)
    for length in range(4, len(whole) - 1, 97):
        assert "van.xlsx" in only(whole[:length], tmp_path).found


def test_a_file_over_its_bound_is_not_read(tmp_path):
    path = tmp_path / "van.xlsx"
    with path.open("wb") as file:
        file.truncate(64 * 1024 * 1024 + 1)
    with pytest.raises(BadDocument, match="at most 64 MB"):
        open_workbook(path)


def test_a_part_that_is_missing_is_told_with_its_sheet(tmp_path):
    made = parts(PARTS)
    made.pop("xl/worksheets/sheet1.xml")
    assert (only(packed(made), tmp_path).sheet, only(packed(made), tmp_path).allowed) == ("parts", "a whole workbook")
    made = parts(PARTS)
    made.pop("xl/workbook.xml")
    assert "lacks its part xl/workbook.xml" in only(packed(made), tmp_path).found
    made = parts(PARTS)
    made.pop("xl/_rels/workbook.xml.rels")
    assert only(packed(made), tmp_path).sheet == "parts"


def test_a_workbook_without_styles_texts_or_types_is_read():
    made = parts({"parts": sheet(row(1, "id", "kind"), row(2, "B1", "battery"))})
    for name in ("xl/styles.xml", "[Content_Types].xml", "_rels/.rels"):
        made.pop(name)
    sheets_read, faults = read_workbook(packed(made))
    assert faults == []
    assert sheets_read == {"parts": [{"id": "B1", "kind": "battery"}]}


def test_the_workbooks_own_part_may_lie_anywhere():
    made = parts(PARTS)
    moved = {
        "_rels/.rels": made["_rels/.rels"].replace("xl/workbook.xml", "/Book/Main.xml"),
        "Book/Main.xml": made["xl/workbook.xml"],
        "Book/_rels/Main.xml.rels": made["xl/_rels/workbook.xml.rels"].replace("worksheets/", "/book/cells/"),
        "book/cells/sheet1.xml": made["xl/worksheets/sheet1.xml"],
    }
    sheets_read, faults = read_workbook(packed(moved))
    assert faults == []
    assert sheets_read["parts"] == [{"id": "B1", "kind": "battery"}]


def test_links_out_of_the_workbook_are_never_followed(tmp_path):
    made = parts(PARTS)
    made["xl/_rels/workbook.xml.rels"] = made["xl/_rels/workbook.xml.rels"].replace(
        'Target="worksheets/sheet1.xml"', 'Target="file:///etc/passwd" TargetMode="External"'
    )
    assert only(packed(made), tmp_path).sheet == "parts"
    made = parts(PARTS)
    made["xl/externalLinks/externalLink1.xml"] = "<externalLink/>"
    made["xl/_rels/workbook.xml.rels"] = made["xl/_rels/workbook.xml.rels"].replace(
        "</Relationships>", f'<Relationship Id="x" Type="{OFFICE}/externalLink" Target="http://a.b/c"/></Relationships>'
    )
    assert read_workbook(packed(made))[1] == []


def test_sheets_of_charts_and_macros_are_passed_over():
    made = parts({**PARTS, "Chart1": "<chartsheet/>", "Macro1": "<x/>"})
    made["xl/_rels/workbook.xml.rels"] = (
        made["xl/_rels/workbook.xml.rels"]
        .replace('worksheet" Target="worksheets/sheet2.xml"', 'chartsheet" Target="worksheets/sheet2.xml"')
        .replace('worksheet" Target="worksheets/sheet3.xml"', 'xlMacrosheet" Target="worksheets/sheet3.xml"')
    )
    sheets_read, faults = read_workbook(packed(made))
    assert (list(sheets_read), faults) == (["parts"], [])


def test_a_zip_that_means_harm_is_told_by_its_member(tmp_path):
    made = parts(PARTS)
    assert "leads out of its folder" in only(packed({**made, "../x": "x"}), tmp_path).found
    bomb = packed({**made, "xl/sharedStrings.xml": b"\0" * (40 * 1024 * 1024)})
    assert "more than 200 times" in only(bomb, tmp_path).found


def test_a_workbook_with_no_sheet_of_a_job(tmp_path):
    problem = only(workbook({"Sheet1": sheet()}), tmp_path)
    assert "holds no sheet of a job" in problem.found
    assert "loomwright new" in problem.mend
    assert "holds no sheet" in only(workbook({"My list": sheet(row(1, "a"), row(2, "b"))}), tmp_path).found


def test_texts_that_the_reader_of_values_cannot_take_are_told(tmp_path, monkeypatch):
    class Choked:
        """A reader that takes nothing."""

        @staticmethod
        def from_filelike(_: object) -> None:
            raise CalamineError("no")

    monkeypatch.setattr("loomwright.sheets.workbook.CalamineWorkbook", Choked)
    assert "texts that cannot be read" in only(workbook(PARTS), tmp_path).found


def test_a_sheet_without_a_name_and_one_that_is_there_twice_are_told(tmp_path):
    assert "has a sheet without a name" in only(workbook({**PARTS, "": sheet(row(1, "id"))}), tmp_path).found
    made = parts({**PARTS, "wires": sheet(), "other": sheet()})
    made["xl/workbook.xml"] = made["xl/workbook.xml"].replace('name="other"', 'name="wires"')
    problem = only(packed(made), tmp_path)
    assert (problem.sheet, problem.allowed) == ("wires", "each sheet once")


def test_more_sheets_than_are_read(tmp_path):
    assert "251 sheets" in only(workbook({f"s{n}": sheet() for n in range(251)}), tmp_path).found


def test_the_same_long_text_again_and_again_is_told(tmp_path):
    cells = "".join(f'<row r="{n}"><c r="A{n}" t="s"><v>0</v></c></row>' for n in range(2, 1_100))
    data = workbook({"parts": sheet(row(1, "id"), cells)}, strings=f"<si><t>{'x' * 32_000}</t></si>")
    assert "the same again and again" in only(data, tmp_path).found
    short = workbook({"own": sheet(row(1, "id"), cells), **PARTS}, strings="<si><t>x</t></si>")
    assert len(read_workbook(short)[0]["own"]) == 1098


def test_cells_over_all_sheets_are_bounded(tmp_path):
    wide = sheet(row(1, "id"), '<row r="90000"><c r="Z90000"><v>1</v></c></row>')
    assert "reaches over 4680000 cells" in only(workbook({"parts": wide, "wires": wide}), tmp_path).found


MEMORY = """
import resource, sys
from loomwright.refusals import BadDocument
from loomwright.sheets.workbook import open_workbook
try:
    open_workbook(sys.argv[1])
    said = "read"
except BadDocument as refusal:
    said = refusal.problems[0].found
spent = resource.getrusage(resource.RUSAGE_SELF)
most_kb = next(line.split()[1] for line in open("/proc/self/status") if line.startswith("VmHWM"))
print(int(most_kb) // 1024, spent.ru_utime + spent.ru_stime, said)
"""


def spent(data, tmp_path):
    """Memory [MB] and seconds of the processor that opening takes in a process of its own, and what came of it."""
    path = tmp_path / "van.xlsx"
    path.write_bytes(data)
    ran = subprocess.run([sys.executable, "-c", MEMORY, str(path)], capture_output=True, text=True, check=True)
    megabytes, seconds, said = ran.stdout.strip().split(" ", 2)
    return int(megabytes), float(seconds), said


def test_a_million_blank_rows_with_a_format_cost_next_to_nothing(tmp_path):
    plain_mb, plain_s, _ = spent(workbook(PARTS), tmp_path)
    blank = "".join(f'<row r="{n}" s="1" customFormat="1"><c r="A{n}" s="1"/></row>' for n in range(3, 1_000_000))
    data = workbook({"parts": sheet(row(1, "id", "kind"), row(2, "B1", "battery"), blank)})
    megabytes, seconds, said = spent(data, tmp_path)
    assert said == "read"
    assert megabytes < plain_mb + 250  # the part itself, unpacked once, is 60 MB
    assert seconds < plain_s + 3.0


@pytest.mark.parametrize("name", ["A1048576", "XFD2", "XFD1048576"])
def test_one_cell_far_out_costs_nothing_and_is_told(name, tmp_path):
    number = name.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    data = workbook({"parts": sheet(row(1, "id"), f'<row r="{number}"><c r="{name}"><v>1</v></c></row>')})
    megabytes, seconds, said = spent(data, tmp_path)
    assert "reaches as far as" in said
    assert megabytes < 200
    assert seconds < 5.0


@pytest.mark.long
def test_the_largest_workbook_that_is_read_stays_under_a_gigabyte(tmp_path):
    heads = [f"h{n}" for n in range(49)]
    body = (row(n, *(f"{n} {name}" for name in heads)) for n in range(2, 15_000))
    data = workbook({**PARTS, "own": sheet(row(1, *heads), *body)})
    megabytes, seconds, said = spent(data, tmp_path)
    assert said.startswith(("read", "van.xlsx holds"))
    assert megabytes < 1000
    assert seconds < 30.0


def test_writing_is_whole_or_not_at_all(tmp_path, monkeypatch):
    path = tmp_path / "van.xlsx"
    job = read(sheets())
    write_workbook(job, path)
    before = path.read_bytes()

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(BadDocument, match="No space left"):
        write_workbook(read(sheets(wires=None, requirements=None)), path)
    monkeypatch.undo()
    assert path.read_bytes() == before
    assert [file.name for file in tmp_path.iterdir()] == ["van.xlsx"]
    assert open_workbook(path) == job


def test_a_folder_that_is_not_there_yet_is_made(tmp_path):
    write_workbook(read(sheets()), tmp_path / "a" / "b" / "van.xlsx")
    with zipfile.ZipFile(io.BytesIO((tmp_path / "a" / "b" / "van.xlsx").read_bytes())) as file:
        assert file.testzip() is None
