"""How does a recorded drive come in, from a CSV, Parquet or MDF4 file of any naming?

In: a path. Out: a recording: a lazy frame, headings with units, samples from all over the file. Nothing but samples
is read. Of a CSV the letters' code, the separator, the decimal sign, lines before the heading and a line of units
beneath it are found by looking at the beginning; a last row that is not whole by looking at the end.
"""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

import numpy as np
import polars as pl
from numpy.typing import NDArray

from loomwright.logs.channels import Column
from loomwright.logs.drive import Recording, seconds_of_clock
from loomwright.refusals import BadDocument, NoAnswer, Problem

__all__ = ["open_log"]

_BLOCK = 65536
_PLACES, _PIECE = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9), 8192
_SEPARATORS = (",", ";", "\t")
_MOST_LINES_BEFORE = 60
_BLANKS = ("", "-", "--", "---", "nan", "NaN", "NAN", "n/a", "N/A", "NULL", "null")
_MOSTLY, _WORDY = 0.6, 0.6
_SAMPLE = 2000
_CLOCK_ROWS = 50
_SINGLE = 1e-6  # single width tells apart what differs by more than this share


def open_log(path: Path) -> Recording:
    """A log as a recording, opened and not yet read.

    Raises:
        BadDocument: the file is not there, or of a kind that is not read.
        NoAnswer: it holds no table of figures.
    """
    if not path.is_file():
        raise _told(str(path), "a file of a recorded drive", "Give the path of the log")
    if path.suffix.lower() in (".mf4", ".mdf"):
        try:
            from loomwright.exchange.mdf_file import open_mdf  # half a second that only such a file costs
        except ImportError as fault:
            mend = "Install loomwright[mdf], or export the measurement as CSV or Parquet"
            raise _told(path.name, ".csv or .parquet: what reads MDF4 is not installed", mend) from fault
        return open_mdf(path)
    if path.suffix.lower() == ".parquet":
        return _open_parquet(path)
    return _open_csv(path)


def _open_parquet(path: Path) -> Recording:
    try:
        frame = pl.scan_parquet(path)
        schema = frame.collect_schema()
        rows = int(frame.select(pl.len()).collect().item())
        every = max(1, rows // _SAMPLE)
        sample = frame.gather_every(every).head(_SAMPLE).collect()
        beginning = frame.head(_SAMPLE).collect()
    except (pl.exceptions.PolarsError, OSError) as fault:
        raise _told(path.name, "a Parquet file", f"Write it anew: {fault}") from fault
    columns = []
    for name, kind in schema.items():
        unit = "s" if kind.is_temporal() else ""
        part = beginning if kind.is_temporal() or _rises(sample[name]) else sample
        columns.append(Column(name=name, unit=unit, sample=_figures_of(part[name])))
    return Recording(frame=frame, as_text=None, columns=tuple(columns))


def _rises(series: pl.Series) -> bool:
    """Whether a column rises all the way, as a time does: its unit is told by the steps from row to row."""
    return series.dtype.is_numeric() and bool((series.diff().drop_nulls() > 0).all())


def _figures_of(series: pl.Series) -> NDArray[np.float64]:
    if series.dtype.is_temporal():
        return np.arange(series.len(), dtype=np.float64)
    if series.dtype == pl.String:
        return np.array([_figure(text or "", comma=False) for text in series.to_list()])
    return series.cast(pl.Float64, strict=False).fill_null(float("nan")).to_numpy()


def _open_csv(path: Path) -> Recording:
    size = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(_BLOCK * 2)
        blocks = [_block(file, int(size * place), _PIECE) for place in _PLACES] if size > _BLOCK * 8 else []
        tail = _block(file, max(0, size - _BLOCK)) if size > len(head) else head
    says = []
    source: Path | bytes = path
    if head[:2] in (b"\xff\xfe", b"\xfe\xff"):
        text = path.read_bytes().decode("utf-16")
        source = text.encode()
        head, blocks, tail = source[: _BLOCK * 2], [], source[-_BLOCK:]
        says.append("written in UTF-16")
    lines = _text(head).splitlines()
    separator = _separator(lines)
    cells = [_cells(line, separator) for line in lines]
    comma = separator != "," and _has_commas(cells)
    first = _first_row(cells, comma)
    if first is None or first == 0:
        raise NoAnswer(f"What {path.name} says", ("No heading with rows of figures beneath it was found.",))
    names, units, says_above = _heading(cells, first, comma)
    says += says_above
    ends_well = tail.endswith((b"\n", b"\r"))
    last = _cells(_text(tail).splitlines()[-1], separator)
    is_cut = not ends_well and len(last) < len(names)
    if is_cut:
        says.append("the last row is not whole: half a file, or a recording that broke off; that row is left out")
    rows = [row for row in cells[first : len(cells) - 1 if size > len(head) else None] if len(row) > 1]
    for block in blocks:
        rows += [_cells(line, separator) for line in _text(block).splitlines()[1:-1]]
    rows += [_cells(line, separator) for line in _text(tail).splitlines()[1 : -1 if is_cut or tail is head else None]]
    return _recording(source, names, units, rows, separator, first, comma, tuple(says), is_cut)


def _recording(
    source: Path | bytes,
    names: list[str],
    units: list[str],
    rows: list[list[str]],
    separator: str,
    first: int,
    comma: bool,
    says: tuple[str, ...],
    is_cut: bool,
) -> Recording:
    columns: list[Column] = []
    kinds: dict[str, type[pl.DataType]] = {}
    blanks: set[str] = set()
    for place, name in enumerate(names):
        cells = [row[place].strip() if place < len(row) else "" for row in rows]
        figures = np.array([_figure(cell, comma) for cell in cells])
        odd = np.flatnonzero(~np.isfinite(figures)).tolist()
        plain = all(cells[k] in _BLANKS for k in odd)
        blanks.update(rows[k][place] for k in odd if place < len(rows[k]) and cells[k] in _BLANKS)
        kinds[name] = _width(figures) if plain else pl.String
        unit = units[place] if place < len(units) else ""
        clock = [seconds_of_clock(cell) for cell in cells[:_SAMPLE]] if not plain and _is_clock(cells) else []
        if clock:
            figures = np.array([np.nan if one is None else one for one in clock])
            unit = "s"
        columns.append(Column(name=name, unit=unit, sample=figures))
    options = {"has_header": False, "skip_lines": first, "separator": separator, "truncate_ragged_lines": True}
    # what is told apart only by looking at every cell is looked for where it was met; else all is read again as text
    marks = sorted(blanks - {""})
    typed_options = {**options, "encoding": "utf8", "null_values": marks or None}
    options |= {"encoding": "utf8-lossy", "null_values": list(_BLANKS)}
    typed = pl.Schema({name: kinds[name]() for name in names})
    text = pl.Schema({name: pl.String() for name in names})
    typed_comma = comma and not any(kind is pl.String for kind in kinds.values())
    frame = pl.scan_csv(source, schema=typed, decimal_comma=typed_comma, **typed_options)  # type: ignore[arg-type]
    as_text = pl.scan_csv(source, schema=text, **options)  # type: ignore[arg-type]
    return Recording(
        frame=as_text if comma and not typed_comma else frame,
        as_text=as_text,
        columns=tuple(columns),
        says=says,
        is_cut=is_cut,
        comma=comma,
    )


def _width(figures: NDArray[np.float64]) -> type[pl.DataType]:
    """Single width where it tells all figures apart; double for a clock, and for what has many digits."""
    sound = figures[np.isfinite(figures)]
    steps = np.abs(np.diff(sound))
    is_clock = sound.size > 1 and bool((np.diff(sound[:_CLOCK_ROWS]) >= 0.0).all()) and bool(steps.any())
    least = float(steps[steps > 0.0].min()) if steps.any() else 0.0
    most = float(np.abs(sound).max()) if sound.size else 0.0
    return pl.Float64 if is_clock or least < _SINGLE * most else pl.Float32


def _block(file: io.BufferedReader, at: int, size: int = _BLOCK) -> bytes:
    file.seek(at)
    return file.read(size)


def _text(data: bytes) -> str:
    """The letters of a piece: UTF-8, or the old Western code where it is none; a cut letter at an end does not
    count."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        if fault.start >= len(data) - 4 or (fault.start < 4 and data[:1] > b"\x7f"):
            return data.decode("utf-8-sig", errors="replace")
        return data.decode("cp1252", errors="replace")


def _cells(line: str, separator: str) -> list[str]:
    return next(csv.reader([line], delimiter=separator), [])


def _separator(lines: list[str]) -> str:
    """The sign that splits most lines into the same number of cells."""
    body = lines[-200:-1] or lines
    scores = []
    for sign in _SEPARATORS:
        counts = [line.count(sign) for line in body]
        middle = sorted(counts)[len(counts) // 2]
        even = sum(count == middle for count in counts) / len(counts)
        # a decimal comma comes as often as there are cells: what splits evenly into more wins only if nothing else
        # splits
        scores.append((even >= _MOSTLY and middle > 0, sign != ",", middle))
    best = max(range(len(_SEPARATORS)), key=lambda k: scores[k])
    return _SEPARATORS[best]


def _has_commas(cells: list[list[str]]) -> bool:
    return any(re.fullmatch(r"\s*-?\d+,\d+\s*", cell) for row in cells[-100:] for cell in row)


def _figure(cell: str, comma: bool) -> float:
    try:
        return float(cell.replace(",", ".") if comma else cell)
    except ValueError:
        return float("nan")


def _is_figures(row: list[str], comma: bool) -> bool:
    filled = [cell for cell in row if cell.strip() not in _BLANKS]
    known = sum(np.isfinite(_figure(cell, comma)) or seconds_of_clock(cell) is not None for cell in filled)
    return len(row) > 1 and bool(filled) and known >= _MOSTLY * len(filled)


def _first_row(cells: list[list[str]], comma: bool) -> int | None:
    """The first line of figures that is as wide as those after it."""
    widths = [len(row) for row in cells[-200:-1]] or [len(row) for row in cells]
    usual = sorted(widths)[len(widths) // 2]
    for place, row in enumerate(cells[:_MOST_LINES_BEFORE]):
        if len(row) >= usual and _is_figures(row, comma):
            return place
    return None


def _heading(cells: list[list[str]], first: int, comma: bool) -> tuple[list[str], list[str], list[str]]:
    """Headings, units, and what stood above them."""
    above = [place for place in range(first) if len(cells[place]) >= len(cells[first]) - 1 and any(cells[place])]
    if not above:
        raise NoAnswer("What this log says", ("No row of headings stands above the figures.",))
    units: list[str] = []
    place = above[-1]
    if len(above) > 1 and above[-1] == above[-2] + 1 and _are_units(cells[above[-1]]):
        units = [cell.strip().strip("[]()") for cell in cells[above[-1]]]
        place = above[-2]
    names: list[str] = []
    for number, cell in enumerate(cells[place], start=1):
        name = cell.strip() or f"column {number}"
        names.append(name if name not in names else f"{name} ({number})")
    names += [f"column {number}" for number in range(len(names) + 1, len(cells[first]) + 1)]
    says = [f"{place} lines of remarks above the headings"] if place else []
    return names, units, says


def _are_units(row: list[str]) -> bool:
    short = sum(len(cell.strip()) <= 8 for cell in row)
    marks = {
        "s",
        "ms",
        "rpm",
        "1/min",
        "%",
        "kpa",
        "bar",
        "psi",
        "v",
        "°c",
        "c",
        "degc",
        "°f",
        "lambda",
        "afr",
        "km/h",
        "°",
        "deg",
    }
    return short >= _WORDY * len(row) and sum(cell.strip().strip("[]()").lower() in marks for cell in row) >= 2


def _is_clock(cells: list[str]) -> bool:
    filled = [cell for cell in cells if cell][:20]
    return bool(filled) and sum(seconds_of_clock(cell) is not None for cell in filled) > len(filled) / 2


def _told(found: str, allowed: str, mend: str) -> BadDocument:
    return BadDocument((Problem(sheet="", row=None, column="", found=found, allowed=allowed, mend=mend),))
