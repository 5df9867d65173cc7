"""What was recorded, as one array a quantity?

In: a recording, lazily (a polars frame with its columns and samples), and the channels that were recognised in it.
Out: rising times, unbroken stretches, and each wanted quantity in its own unit, blank where nothing sound was read.
Only the columns that are wanted are read. Text among numbers is blank and counted; a row of headings in the middle (two
logs joined) is left out and told; figures that no sound sensor gives are blank and counted. A channel that was recorded
more slowly than the others holds its value for at most a second, or three of its own steps.
Any source that can give such a frame will do, whatever its file was: one row a time, blanks where a channel has no
sample.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np
import polars as pl
from numpy.typing import NDArray

from loomwright.logs.channels import Channel, Column, unit_shown
from loomwright.logs.clock import Clock, clock_of
from loomwright.logs.mixed_units import other_units
from loomwright.refusals import NoAnswer
from loomwright.tables.load import read_rows

__all__ = ["Drive", "Recording", "Wild", "drive_of", "seconds_of_clock"]

_CLOCK = r"^\s*(?:\d{4}-\d{2}-(\d{2})[T ])?(?:(\d+):)?(\d+):(\d+(?:[.,]\d+)?)"
_CLOCK_TEXT = re.compile(_CLOCK)
_DAY_S, _HOUR_S, _MINUTE_S = 86400.0, 3600.0, 60.0
_HOLD_S, _HOLD_STEPS = 1.0, 3.0
_SPARSE, _SLOWER = 0.02, 1.5
_Kind = TypeVar("_Kind", np.float32, np.float64)


@dataclass(frozen=True, slots=True, kw_only=True)
class Recording:
    """A log as it was opened, not yet read.

    frame: typed where all of it seems to be figures.   as_text: the same with every column as text, where that can be.
    columns: headings, units, samples.   says: what was found on opening.   is_cut: the last row is not whole.
    comma: figures are written with a decimal comma.
    """

    frame: pl.LazyFrame
    as_text: pl.LazyFrame | None = None
    columns: tuple[Column, ...]
    says: tuple[str, ...] = ()
    is_cut: bool = False
    comma: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Wild:
    """Figures of one quantity that no sound sensor gives. count, of: samples. first_s: when first. [s]"""

    count: int
    of: int
    first_s: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drive:
    """What was recorded.

    time_s: of each row. [s]   stretch: its unbroken stretch.   step_s: the usual step. [s]
    of: quantity -> its figures in its own unit, NaN where there is none.   wild: what was left out of them.
    says: what was found on reading.
    """

    time_s: NDArray[np.float64]
    stretch: NDArray[np.int32]
    step_s: float
    of: Mapping[str, NDArray[np.float32]]
    wild: Mapping[str, Wild] = field(default_factory=dict)
    says: tuple[str, ...] = ()

    def has(self, *names: str) -> bool:
        """Whether all these quantities were recorded."""
        return all(name in self.of for name in names)

    @property
    def lasts_s(self) -> float:
        """How long was recorded, breaks left out. [s]"""
        steps = np.diff(self.time_s)
        return float(steps[np.diff(self.stretch) == 0].sum())


def drive_of(recording: Recording, channels: Sequence[Channel], wanted: Collection[str] | None = None) -> Drive:
    """The drive, with the wanted quantities read and no others.

    Args:
        recording: as opened.
        channels: which column is what.
        wanted: quantities; all that were recognised where left out.
    Raises:
        NoAnswer: no column of time, or not one row of figures.
    """
    by = {channel.quantity: channel for channel in channels}
    if "time" not in by:
        raise NoAnswer(
            "What this log says", ("No column is a time.", "Name it in a mapping: [columns], heading = time.")
        )
    taken = [
        by["time"],
        *(one for one in channels if one.quantity != "time" and (wanted is None or one.quantity in wanted)),
    ]
    frame, times, says = _timed(recording, taken)
    clock = clock_of(times)
    of: dict[str, NDArray[np.float32]] = {}
    wild: dict[str, Wild] = {}
    for channel in taken[1:]:
        figures = _array(frame[channel.quantity], np.float32)
        if not np.isfinite(figures).any():
            says.append(f"{channel.column}: not one figure in it: counts as not recorded")
            continue
        says += [f"{channel.column}: {told}" for told in _blanked_units(figures, clock, channel.quantity)]
        beyond = _beyond(figures, channel.quantity)
        if beyond is not None:
            count = int(beyond.sum())
            first_s = float(clock.time_s[np.argmax(beyond)])
            recorded = int(np.isfinite(figures).sum()) + count  # those beyond are blank by now
            wild[channel.quantity] = Wild(count=count, of=recorded, first_s=first_s)
        said = _held(figures, beyond, clock)
        if said:
            says.append(f"{channel.column}: {said}")
        of[channel.quantity] = figures
    return Drive(
        time_s=clock.time_s,
        stretch=clock.stretch,
        step_s=clock.step_s,
        of=of,
        wild=wild,
        says=(*clock.says, *says),
    )


def _timed(recording: Recording, taken: Sequence[Channel]) -> tuple[pl.DataFrame, NDArray[np.float64], list[str]]:
    """The rows that have a time, their times, and what is said of it and of those left out.

    Args:
        taken: the time first.
    Raises:
        NoAnswer: not one row of figures.
    """
    frame, bad = _collected(recording, taken)
    says = [f"{taken[0].column}: {taken[0].says}"] if taken[0].says else []
    says += [f"{count} cells of {name} are no figures: left blank" for name, count in bad.items() if count]
    if recording.is_cut and frame.height:
        frame = frame.head(-1)
    times = _array(frame["time"], np.float64)
    sound = np.isfinite(times)
    if not sound.all():
        says.append(f"{int((~sound).sum())} rows have no time (headings or remarks among them): left out")
        frame = frame.filter(pl.Series(sound))
        times = times[sound]
    if times.size == 0:
        raise NoAnswer("What this log says", ("It has not one row of figures.",))
    return frame, times, says


def _blanked_units(figures: NDArray[np.float32], clock: Clock, quantity: str) -> Iterator[str]:
    """Blanks what seems to be in another unit, and says where and in which."""
    for other in other_units(figures, clock.stretch, quantity):
        figures[other.first : other.end] = np.nan
        at_s, to_s = clock.time_s[other.first], clock.time_s[other.end - 1]
        yield f"from {at_s:.1f} to {to_s:.1f} s it seems to be in {unit_shown(other.unit)}: left out there"


def _collected(recording: Recording, taken: Sequence[Channel]) -> tuple[pl.DataFrame, dict[str, int]]:
    """The wanted columns as figures; where a column turns out to hold text, all is read again as text."""
    schema = recording.frame.collect_schema()
    try:
        return _read(recording.frame, schema, taken, recording.comma)
    except pl.exceptions.ComputeError:
        if recording.as_text is None:
            raise NoAnswer("What this log says", ("A column of it cannot be read.",)) from None
        return _read(recording.as_text, recording.as_text.collect_schema(), taken, recording.comma)


def _read(
    frame: pl.LazyFrame, schema: pl.Schema, taken: Sequence[Channel], comma: bool
) -> tuple[pl.DataFrame, dict[str, int]]:
    wanted: list[pl.Expr] = []
    counted: dict[str, str] = {}
    heading = pl.lit(value=False)
    for channel in taken:
        column, kind = pl.col(channel.column), schema[channel.column]
        if kind == pl.String:
            text = column.str.strip_chars()
            heading = heading | (text == channel.column.strip())
            figures = _clock_figures(text, comma) if channel.quantity == "time" else _figures(text, comma)
            if channel.quantity != "time":
                is_bad = text.is_not_null() & (text != "") & figures.is_null() & (text.str.to_lowercase() != "nan")
                wanted.append((is_bad & (text != channel.column.strip())).alias(f"bad {channel.quantity}"))
                counted[channel.quantity] = channel.column
        else:
            figures = _seconds(column, kind) if channel.quantity == "time" else column
        scaled = figures.cast(pl.Float64) * channel.factor + channel.offset if _is_scaled(channel) else figures
        wanted.append(scaled.cast(pl.Float64 if channel.quantity == "time" else pl.Float32).alias(channel.quantity))
    read = frame.select(wanted).collect(engine="streaming")
    bad = {column: int(read[f"bad {quantity}"].sum()) for quantity, column in counted.items()}
    return read.select([channel.quantity for channel in taken]), bad


def _array(series: pl.Series, kind: type[_Kind]) -> NDArray[_Kind]:
    """A column as an array that may be written to, copied once however many pieces it came in."""
    found = np.empty(series.len(), kind)
    first = 0
    for piece in series.get_chunks():
        found[first : first + piece.len()] = piece.to_numpy()
        first += piece.len()
    return found


def _is_scaled(channel: Channel) -> bool:
    return (channel.factor, channel.offset) != (1.0, 0.0)


def _figures(text: pl.Expr, comma: bool) -> pl.Expr:
    plain = text.str.replace(",", ".", literal=True) if comma else text
    words = {"on": "1", "off": "0", "true": "1", "false": "0", "yes": "1", "no": "0"}
    return plain.str.to_lowercase().replace(words).cast(pl.Float64, strict=False)


def _clock_figures(text: pl.Expr, comma: bool) -> pl.Expr:
    """Seconds, written as a figure or as clock text."""
    pieces = text.str.extract_groups(_CLOCK)
    day, hour, minute = (pieces.struct[k].cast(pl.Float64, strict=False) for k in range(3))
    second = pieces.struct[3].str.replace(",", ".", literal=True).cast(pl.Float64, strict=False)
    clock = day.fill_null(0.0) * _DAY_S + hour.fill_null(0.0) * _HOUR_S + minute * _MINUTE_S + second
    return pl.coalesce(_figures(text, comma), clock)


def _seconds(column: pl.Expr, kind: pl.DataType) -> pl.Expr:
    if isinstance(kind, pl.Datetime):
        return column.dt.epoch("us") / 1e6
    if isinstance(kind, pl.Duration):
        return column.dt.total_microseconds() / 1e6
    if isinstance(kind, pl.Time):
        return column.cast(pl.Int64) / 1e9
    return column


def seconds_of_clock(text: str) -> float | None:
    """Seconds of a clock text such as 12:34:56.7, None where it is none.

    Example:
        >>> seconds_of_clock("01:02:03,5"), seconds_of_clock("7.5")
        (3723.5, None)
    """
    found = _CLOCK_TEXT.match(text)
    if found is None:
        return None
    day, hour, minute, second = (float((piece or "0").replace(",", ".")) for piece in found.groups())
    return day * _DAY_S + hour * _HOUR_S + minute * _MINUTE_S + second


def _beyond(figures: NDArray[np.float32], quantity: str) -> NDArray[np.bool_] | None:
    """Samples that no sound sensor gives, made blank; None where there are none."""
    row = next(row for row in read_rows("log_quantities") if row["name"] == quantity)
    if not row["floor"] or figures.size == 0:
        return None
    if float(np.nanmin(figures, initial=np.inf)) >= float(row["floor"]) and float(
        np.nanmax(figures, initial=-np.inf)
    ) <= float(row["ceiling"]):
        return None
    beyond: NDArray[np.bool_] = (figures < float(row["floor"])) | (figures > float(row["ceiling"]))
    figures[beyond] = np.nan
    return beyond


def _held(
    figures: NDArray[np.float32],
    beyond: NDArray[np.bool_] | None,
    clock: Clock,
) -> str:
    """Holds the samples of a slower channel until its next one, in place; says so where it did. One that was recorded
    with every row and has blanks is no slower: they stay blank."""
    there = np.isfinite(figures)
    missing = 1.0 - np.count_nonzero(there) / there.size
    if missing < _SPARSE or not there.any():
        return ""
    time_s, stretch = clock.time_s, clock.stretch
    places = np.flatnonzero(there)
    own_s = float(np.median(np.diff(time_s[places]))) if places.size > 1 else _HOLD_S
    if own_s < _SLOWER * clock.step_s:
        return ""
    last = np.maximum.accumulate(np.where(there, np.arange(figures.size), -1))
    age = time_s - time_s[np.maximum(last, 0)]
    keep = (last >= 0) & ~there & (age <= max(_HOLD_S, _HOLD_STEPS * own_s)) & (stretch == stretch[np.maximum(last, 0)])
    if beyond is not None:
        keep &= ~beyond
    figures[keep] = figures[last[keep]]
    return f"a sample every {own_s:.3g} s, held in between" if keep.any() else ""
