"""How fast does a large job go into a workbook and out again, beside openpyxl doing as much in the same run?

Five thousand rows: an example's parts, switches, wires and connectors again and again. The processor's time for this
process is counted, since other work on the machine does not belong to it. Run by hand (`make bench`): the machine
decides.
"""

from __future__ import annotations

import io
import time
from collections.abc import Callable, Mapping
from pathlib import Path

import openpyxl
import pytest

from loomwright.examples.shelf import example_folder
from loomwright.job.reading import job_from_text
from loomwright.sheets.csv_folder import read_folder
from loomwright.sheets.workbook import open_workbook, read_workbook
from loomwright.sheets.workbook_cells import figure_of
from loomwright.sheets.workbook_writing import workbook_bytes

ROWS = 5000
ROUNDS = 5
READ_BAR_S, WRITE_BAR_S = 1.0, 0.5
READ_RATIO, WRITE_RATIO = 1.5, 1.5
_ALONE = ("battery", "controller")

Sheets = dict[str, list[dict[str, str]]]


def large_job(rows: int) -> Sheets:
    """The sheets of a job of that many rows, each copy of the example with names of its own."""
    first = {sheet: [dict(row) for row in each] for sheet, each in read_folder(example_folder("wagon")).items()}
    made = {sheet: list(each) for sheet, each in first.items()}
    copied = {row["id"] for row in first["parts"] if row["kind"] not in _ALONE}
    crimped = {"terminal_from": "ring 6", "terminal_to": "blade 2.8", "seal_to": "green 1.5", "insulation": "B"}
    copy = 0
    while sum(map(len, made.values())) < rows:
        copy += 1

        def named(point: str, copy: int = copy) -> str:
            part, dot, terminal = point.partition(".")
            return f"{part}_{copy}{dot}{terminal}" if part in copied else point

        made["parts"] += [{**row, "id": named(row["id"])} for row in first["parts"] if row["id"] in copied]
        made["contacts"] += [{**row, "part": named(row["part"])} for row in first["contacts"] if row["part"] in copied]
        made["wires"] += [
            {
                **row,
                **crimped,
                "id": f"{row['id']}_{copy}",
                "from": named(row["from"]),
                "to": named(row["to"]),
                "twist": "",
            }
            for row in first["wires"]
        ]
        made["connectors"] += [
            {**row, "id": f"{row['id']}_{copy}", "part": named(row["part"])}
            for row in first["connectors"]
            if row["part"] in copied
        ]
    return made


def spent_s(work: Callable[[], object]) -> float:
    """The processor's time for one round, the best of a few. [s]"""
    taken_s = []
    for _ in range(ROUNDS):
        begun = time.process_time()
        work()
        taken_s.append(time.process_time() - begun)
    return min(taken_s)


def read_by_openpyxl(data: bytes) -> Sheets:
    """The rows of every sheet, heading -> value, as the other library gives them; nothing is checked."""
    book = openpyxl.load_workbook(io.BytesIO(data), read_only=True)
    found = {}
    for tab in book:
        heading, *rows = tab.iter_rows(values_only=True)
        found[tab.title] = [dict(zip(heading, row, strict=False)) for row in rows]
    return found


def written_by_openpyxl(sheets: Mapping[str, list[dict[str, str]]]) -> bytes:
    """The same rows as the other library writes them, without a note, a list or a look."""
    book = openpyxl.Workbook(write_only=True)
    for name, rows in sheets.items():
        tab = book.create_sheet(name)
        headings = list(dict.fromkeys(heading for row in rows for heading in row))
        tab.append(headings)
        for row in rows:
            texts = [row.get(heading, "") for heading in headings]
            tab.append([(text if figure_of(text) is None else figure_of(text)) if text else None for text in texts])
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def test_a_large_workbook_beside_openpyxl(benchmark, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:  # type: ignore[no-untyped-def]
    sheets = large_job(ROWS)
    job = job_from_text(sheets)
    rows = sum(map(len, sheets.values()))
    cells = sum(bool(text) for each in sheets.values() for row in each for text in row.values())
    data = workbook_bytes(job)
    path = tmp_path / "large.xlsx"
    path.write_bytes(data)
    assert open_workbook(path) == job
    benchmark.pedantic(lambda: open_workbook(path), rounds=1)
    read_s, write_s = spent_s(lambda: open_workbook(path)), spent_s(lambda: workbook_bytes(job))
    alone_s = spent_s(lambda: read_workbook(data))
    their_read_s, their_write_s = spent_s(lambda: read_by_openpyxl(data)), spent_s(lambda: written_by_openpyxl(sheets))
    with capsys.disabled():
        print(
            f"\n{rows} rows, {cells} cells: read and checked as a job in {read_s:.2f} s (bar {READ_BAR_S:.1f} s), "
            f"read alone {alone_s:.2f} s, by openpyxl {their_read_s:.2f} s: {their_read_s / alone_s:.1f} times; "
            f"written in {write_s:.2f} s (bar {WRITE_BAR_S:.1f} s), openpyxl without lists and notes "
            f"{their_write_s:.2f} s: {their_write_s / write_s:.1f} times"
        )
    benchmark.extra_info.update(read_s=read_s, read_alone_s=alone_s, write_s=write_s, cells=cells)
    assert read_s < READ_BAR_S
    assert write_s < WRITE_BAR_S
    assert their_read_s / alone_s > READ_RATIO
    assert their_write_s / write_s > WRITE_RATIO
