"""How is a read drive kept for drawing, so that any part of it is drawn at once however long it is?

In: a drive. Out: a Parquet file of its quantities beside the log; and of a window of it no more points than can be
drawn: least and most of each short piece, so that no spike is lost.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
import polars as pl
from numpy.typing import NDArray

from loomwright.logs.drive import Drive
from loomwright.logs.traces import Traces
from loomwright.refusals import NoAnswer

__all__ = ["columns_of", "figures_at", "keep_drive", "traces_of"]

_TIME, _STRETCH = "time", "stretch"
PIECES = 600


def keep_drive(drive: Drive, path: Path) -> None:
    """Write a drive's quantities for drawing; the file is there whole or not at all."""
    columns = {name: pl.Series(figures).fill_nan(None) for name, figures in drive.of.items()}
    rough = path.with_suffix(".part")
    pl.DataFrame({_TIME: drive.time_s, _STRETCH: drive.stretch, **columns}).write_parquet(rough)
    rough.replace(path)


def traces_of(
    path: Path, names: Sequence[str], from_s: float | None = None, to_s: float | None = None, pieces: int = PIECES
) -> Traces:
    """A window of a kept drive.

    Args:
        names: quantities; those it does not hold are left out.
        from_s, to_s: the window; the whole drive where left out. [s]
        pieces: it is cut into. [-]
    Raises:
        NoAnswer: the drive is not kept any more.
    """
    if not path.is_file():
        raise NoAnswer("the drawing of this log", ("It is being read, or was taken away: open its page again.",))
    frame = pl.scan_parquet(path)
    ends = frame.select(pl.col(_TIME).min().alias("first"), pl.col(_TIME).max().alias("last")).collect()
    whole = (float(ends["first"][0]), float(ends["last"][0]))
    first = whole[0] if from_s is None else max(from_s, whole[0])
    last = whole[1] if to_s is None else min(to_s, whole[1])
    if not first < last:
        first, last = whole
    held = [name for name in names if name in frame.collect_schema().names()]
    step = max((last - first) / pieces, 1e-9)
    piece = ((pl.col(_TIME) - first) / step).cast(pl.Int64).clip(0, pieces - 1).alias("piece")
    found = (
        frame.filter(pl.col(_TIME).is_between(first, last))
        .group_by(piece)
        .agg(
            pl.col(_TIME).mean(),
            *(pl.col(name).min().alias(f"least {name}") for name in held),
            *(pl.col(name).max().alias(f"most {name}") for name in held),
        )
        .sort("piece")
        .collect()
    )
    return Traces(
        from_s=first,
        to_s=last,
        whole_s=whole,
        at_s=tuple(found[_TIME].to_list()),
        least={name: tuple(found[f"least {name}"].to_list()) for name in held},
        most={name: tuple(found[f"most {name}"].to_list()) for name in held},
    )


def figures_at(path: Path, at_s: float, within_s: float) -> Mapping[str, float]:
    """What was recorded at one time: quantity -> its figure in its own unit, in the order it is kept.

    Args:
        at_s: when. [s]
        within_s: as far from it as a row may lie. [s]
    Raises:
        NoAnswer: the drive is not kept any more.
    """
    if not path.is_file():
        raise NoAnswer("this recorded drive", ("It is being read, or was taken away: open its page again.",))
    near = pl.scan_parquet(path).filter(pl.col(_TIME).is_between(at_s - within_s, at_s + within_s))
    rows = near.sort((pl.col(_TIME) - at_s).abs()).head(1).drop(_TIME, _STRETCH).collect()
    told = rows.row(0, named=True) if rows.height else {}
    return {name: float(figure) for name, figure in told.items() if figure is not None and np.isfinite(figure)}


def columns_of(path: Path, names: Sequence[str]) -> tuple[NDArray[np.float64], Mapping[str, NDArray[np.float32]]]:
    """Times and whole columns of a kept drive, [s] and in each quantity's own unit.

    Args:
        names: quantities; those it does not hold are left out.
    Raises:
        NoAnswer: the drive is not kept any more.
    """
    if not path.is_file():
        raise NoAnswer("this recorded drive", ("It is being read, or was taken away: open its page again.",))
    held = [name for name in names if name in pl.read_parquet_schema(path)]
    frame = pl.read_parquet(path, columns=[_TIME, *held])
    return frame[_TIME].to_numpy(), {name: frame[name].to_numpy() for name in held}
