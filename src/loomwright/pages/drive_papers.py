"""How is a recorded drive drawn for paper: its channels over time, the attempts to start, the mixture cell by cell?

In: a judged drive and what is kept of it for drawing. Out: drawings as SVG with their titles, the same for the page,
the pack and the command; and what the pack holds of a drive: what it proves for the dyno, and its drawings.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from loomwright.car import Car
from loomwright.exchange.log_file import open_log
from loomwright.exchange.plot_file import keep_drive, traces_of
from loomwright.job.vehicle import vehicle_of
from loomwright.logs.in_short import drive_in_short
from loomwright.logs.judged import Judged, judged_drive, read_drive
from loomwright.logs.limits import unproved
from loomwright.logs.mapping import Mapped
from loomwright.logs.own_limits import mapped_for
from loomwright.pages.records.logs_page import View, bands_of, marks_of
from loomwright.writers.dyno_paper import Drawing, dyno_pdf
from loomwright.writers.log_chart import drive_chart
from loomwright.writers.mixture_chart import cells_chart, contour_chart, has_contours
from loomwright.writers.starts_chart import AFTER_S, BEFORE_S, starts_chart

__all__ = ["PackDrive", "drive_drawings", "drive_files", "drive_papers", "read_again", "starts_drawing"]

_MOST_STARTS = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class PackDrive:
    """A recorded drive that goes with the papers. path: of the log.   drawn: where what is drawn of it is kept.

    judged: what it says, where that is known.   earlier: names and drives before it, the newest first.
    """

    name: str
    path: Path
    drawn: Path
    mapped: Mapped
    judged: Judged | None = None
    earlier: Sequence[tuple[str, Judged]] = ()


def read_again(car: Car, path: Path, drawn: Path, mapped: Mapped) -> Judged:
    """What a recorded drive says of a car; what is drawn of it is kept beside it.

    Args:
        path: of the log.
        drawn: where what is drawn of it is kept.
    Raises:
        NoAnswer: nothing in it can be read.
    """
    recording = open_log(path)
    read, channels = read_drive(recording, mapped)
    keep_drive(read, drawn)
    return judged_drive(read, channels, recording, mapped_for(mapped, car.job), car.fuel_table, car.supply_volts)


def drive_papers(car: Car, drive: PackDrive) -> Mapping[str, bytes]:
    """What a recorded drive proves for the dyno, as a paper, and its drawings: file -> bytes.

    Raises:
        NoAnswer: nothing in it can be read.
    """
    known = drive.judged if drive.drawn.is_file() else None
    told = known or read_again(car, drive.path, drive.drawn, drive.mapped)
    title = vehicle_of(car.job).title or Path(drive.name).stem
    ready = car.dyno(told, drive.name, drive.earlier)
    drawn = drive_drawings(drive.name, told, drive.drawn)
    paper = dyno_pdf(
        title, ready, unproved(mapped_for(drive.mapped, car.job).limits), drawn, short=drive_in_short(told, ready)
    )
    drawings = {f"drawings/{name}": data for name, data in drive_files(drive.name, told, drive.drawn).items()}
    return {"dyno.pdf": paper, **drawings}


def drive_drawings(name: str, drive: Judged, drawn: Path) -> tuple[Drawing, ...]:
    """The drawings of a drive, in the order of the paper.

    Args:
        name: of the drive.
        drive: judged.
        drawn: what is kept of it for drawing.
    Raises:
        NoAnswer: that is not there any more.
    """
    bands = bands_of(drive, View())
    traces = traces_of(drawn, sorted({each for band in bands for each in band.names}))
    made = [Drawing(title=f"The drive {name}", svg=drive_chart(traces, bands, marks_of(drive, View()), title=name))]
    if drive.starts:
        made.append(Drawing(title="Attempts to start, over one another", svg=starts_drawing(drive, drawn)))
    if drive.mixture is not None and drive.mixture.visits:
        made.append(Drawing(title="What the fuel wants, cell by cell, %", svg=cells_chart(drive.mixture)))
        if has_contours(drive.mixture):
            made.append(Drawing(title="Proposed change of the fuel", svg=contour_chart(drive.mixture)))
    return tuple(made)


def starts_drawing(drive: Judged, drawn: Path) -> str:
    """The attempts to start over one another.

    Args:
        drive: judged.
        drawn: what is kept of it for drawing.
    """
    names = ("engine_speed", "battery")
    return starts_chart(
        [
            (one, traces_of(drawn, names, one.at_s - BEFORE_S, one.at_s + AFTER_S, pieces=300))
            for one in drive.starts[:_MOST_STARTS]
        ]
    )


def drive_files(name: str, drive: Judged, drawn: Path) -> dict[str, bytes]:
    """The drawings of a drive as files, name -> SVG.

    Args:
        name: of the drive.
        drive: judged.
        drawn: what is kept of it for drawing.
    """
    words = ("drive", "starts", "cells", "contours")
    titles = ("The drive", "Attempts", "What the fuel", "Proposed")
    return {
        f"{word}.svg": one.svg.encode()
        for one in drive_drawings(name, drive, drawn)
        for word, title in zip(words, titles, strict=True)
        if one.title.startswith(title)
    }
