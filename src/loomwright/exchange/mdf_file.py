"""How does a recorded drive come in from a measurement file of the open standard ASAM MDF, edition 4?

In: a path. Out: a recording: a lazy frame over the groups of the file, with one row a time of its fastest group and
blanks where a slower channel has no sample. Only channels that are asked for are read; units come from the file.
"""

from __future__ import annotations

import struct
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl
from asammdf import MDF
from numpy.typing import NDArray
from polars.io.plugins import register_io_source

from loomwright.logs.channels import Column
from loomwright.logs.drive import Recording
from loomwright.refusals import BadDocument, NoAnswer, Problem

__all__ = ["open_mdf"]

_SAMPLE = 2000
_MARKS = (b"MDF     ", b"UnFinMF ")
"""How a file of the standard begins, finished or broken off."""
_TIME = "time"
_HEAD = struct.Struct("<2s6xQQ")
_FIRST_BLOCK, _LINK = 64, 8


def open_mdf(path: Path) -> Recording:
    """A measurement file as a recording, opened and not yet read.

    Raises:
        BadDocument: it is no such file, or broke off before its end.
        NoAnswer: it holds no channel of figures.
    """
    with path.open("rb") as begun:
        mark = begun.read(len(_MARKS[0]) + 2)
    if mark[:-2] not in _MARKS or mark[-2:] != b"4.":
        raise _told(path, "its first letters are not those of the standard's edition 4")
    if not _is_whole(path):
        raise _told(path, "half a file: it names pieces beyond its own end")
    try:
        with MDF(path) as file:
            places = _places(file)
            columns = [Column(name=_TIME, unit="s", sample=np.arange(3, dtype=np.float64))]
            for name, (group, index) in places.items():
                signal = file.get(group=group, index=index, record_count=_SAMPLE)
                columns.append(Column(name=name, unit=str(signal.unit or ""), sample=_figures(signal.samples)))
    except BadDocument:
        raise
    except Exception as fault:  # the library tells what is wrong with a file in many ways of its own
        raise _told(path, str(fault)) from fault
    if len(columns) == 1:
        raise NoAnswer(f"What {path.name} says", ("No channel of figures was found in it.",))
    schema = pl.Schema({column.name: pl.Float64() for column in columns})

    def read(
        with_columns: list[str] | None, predicate: pl.Expr | None, n_rows: int | None, batch_size: int | None
    ) -> object:
        frame = _read(path, places, with_columns or list(schema))
        frame = frame if predicate is None else frame.filter(predicate)
        yield frame if n_rows is None else frame.head(n_rows)

    frame = register_io_source(read, schema=schema)  # type: ignore[arg-type]
    return Recording(frame=frame, columns=tuple(columns))


def _is_whole(path: Path) -> bool:
    """Whether every block that is linked to lies inside the file: each begins with its sort, length and links."""
    size = path.stat().st_size
    seen: set[int] = set()
    ahead = [_FIRST_BLOCK]
    with path.open("rb") as file:
        while ahead:
            place = ahead.pop()
            if place in seen:
                continue
            seen.add(place)
            file.seek(place)
            head = file.read(_HEAD.size)
            if len(head) < _HEAD.size:
                return False
            mark, length, links = _HEAD.unpack(head)
            if mark != b"##" or place + length > size or _HEAD.size + links * _LINK > length:
                return False
            ahead += [link for link in struct.unpack(f"<{links}Q", file.read(links * _LINK)) if link]
    return True


def _places(file: MDF) -> dict[str, tuple[int, int]]:
    """Channel -> its group and place in it; a name that stands in several groups gets its number behind it."""
    found: dict[str, tuple[int, int]] = {}
    groups: Any = file.groups
    for group, held in enumerate(groups):
        for index, channel in enumerate(held.channels):
            if channel.channel_type in (2, 3) or held.channel_group.cycles_nr == 0:
                continue  # the group's own time, or nothing recorded
            name = channel.name if channel.name not in found and channel.name != _TIME else f"{channel.name} ({group})"
            if channel.data_type <= 5:  # figures, not text or bytes
                found[name] = (group, index)
    return found


def _read(path: Path, places: dict[str, tuple[int, int]], wanted: list[str]) -> pl.DataFrame:
    """The wanted channels at the times of the fastest group among them."""
    with MDF(path) as file:
        names = [name for name in wanted if name != _TIME]
        signals = file.select([(None, *places[name]) for name in names], copy_master=False) if names else []
        if not signals:
            signals = [file.get(group=0, index=next(index for group, index in places.values() if group == 0))]
            names = []
    stamps = max((signal.timestamps for signal in signals), key=lambda times: times.size)
    series = {_TIME: stamps.astype(np.float64)}
    for name, signal in zip(names, signals, strict=False):
        figures = _figures(signal.samples)
        if signal.timestamps.size == stamps.size and np.array_equal(signal.timestamps, stamps):
            series[name] = figures
            continue
        spread = np.full(stamps.size, np.nan)
        spread[np.minimum(np.searchsorted(stamps, signal.timestamps), stamps.size - 1)] = figures
        series[name] = spread
    return pl.DataFrame({name: series[name] for name in wanted})


def _figures(samples: NDArray[np.generic]) -> NDArray[np.float64]:
    if samples.dtype.kind in "biuf":
        return samples.astype(np.float64)
    return np.full(len(samples), np.nan)


def _told(path: Path, fault: str) -> BadDocument:
    mend = f"Read it out of the recorder anew, or export it as CSV: {fault or 'it broke off'}"
    problem = Problem(sheet="", row=None, column="", found=path.name, allowed="a whole MDF4 file", mend=mend)
    return BadDocument((problem,))
