"""What `loomwright gears` is asked beside the lines: fewest changes for the fuel, a recorded drive laid over them."""

from __future__ import annotations

import sys
from dataclasses import asdict
from pathlib import Path

from loomwright.cli.printing import show
from loomwright.exchange.log_file import open_log
from loomwright.gearbox.box import Box
from loomwright.gearbox.fewest import Traded, TradeOff
from loomwright.gearbox.judged import run_words
from loomwright.gearbox.line_record import Lines
from loomwright.gearbox.road_log import RoadChange, changes_of_drive, road_says
from loomwright.gearbox.road_ratio import RoadRatio, ratio_says, ratio_wrong, road_ratios
from loomwright.logs.judged import read_drive
from loomwright.logs.mapping import Mapped

__all__ = ["ratios_plain", "road_of", "road_plain", "show_fewest", "show_road", "tell_sets", "trade_plain"]

_PERCENT = 100.0


def tell_sets(done: int, of: int) -> None:
    """One line of progress on the terminal."""
    if sys.stderr.isatty() and (done % 10 == 0 or done == of):
        sys.stderr.write(f"\r{done} of {of} sets driven" + ("\n" if done == of else ""))
        sys.stderr.flush()


def show_fewest(trade: TradeOff) -> None:
    """The curve as rows, the lines of now before it."""
    show(f"\n{trade.programme}, driven over the {run_words(trade.cycle)}:")
    show(f"{trade.tried} sets of lines, {trade.fit} of them fit")
    show(" set  changes/km  undone  fuel g/km  pull m/s2  hunts")
    show(" now" + _row(trade.now))
    for place, one in enumerate(trade.curve, start=1):
        show(f"{place:4}" + _row(one))
    if not trade.curve:
        show("None leaves as much pull in hand and breaks no rule.")
    show("Fuel is estimated: good for comparing lines, not for what the car will take.")


def _row(one: Traded) -> str:
    return (
        f"{one.changes_per_km:12.2f}{one.undone:8}{one.fuel_g_per_km:11.1f}{one.pull_ms2:11.2f}"
        f"{_PERCENT * one.hunts_frac:6.0f} %"
    )


def trade_plain(trade: TradeOff) -> dict[str, object]:
    """The curve in the shape that `--json` prints."""
    return {
        "programme": trade.programme,
        "cycle": trade.cycle,
        "tried": trade.tried,
        "fit": trade.fit,
        "least_pull_ms2": round(trade.least_pull_ms2, 4),
        "now": _plain(trade.now),
        "curve": [_plain(one) for one in trade.curve],
    }


def _plain(one: Traded) -> dict[str, object]:
    return {
        "changes_per_km": round(one.changes_per_km, 4),
        "undone": one.undone,
        "fuel_g_per_km": round(one.fuel_g_per_km, 3),
        "pull_ms2": round(one.pull_ms2, 4),
        "hunts_frac": round(one.hunts_frac, 4),
    }


def road_of(file: str, box: Box, lines: Lines) -> tuple[tuple[RoadChange, ...], tuple[RoadRatio, ...]]:
    """The changes of a recorded drive, and how fast the engine turned in each gear.

    Raises:
        NoAnswer: it lacks road speed, pedal or gear.
    """
    drive, _ = read_drive(open_log(Path(file)), Mapped())
    return changes_of_drive(lines, drive.time_s, drive.of), road_ratios(box, lines, drive.time_s, drive.of)


def show_road(changes: tuple[RoadChange, ...], ratios: tuple[RoadRatio, ...]) -> None:
    """Line by line, then what lies far off."""
    show(f"\nOn the road: {len(changes)} changes")
    for told in road_says(changes):
        show(f"  {told}")
    for one in (one for one in changes if one.is_far):
        show(
            f"  at {one.at_s:.1f} s {one.name} at {one.kmh:.0f} km/h, {_PERCENT * one.pedal_frac:.0f} % pedal:"
            f" its line says {one.line_kmh:.0f} km/h"
        )
    for told in ratio_says(ratios):
        show(f"  {told}")
    for told in ratio_wrong(ratios):
        show(f"{told}.")


def ratios_plain(ratios: tuple[RoadRatio, ...]) -> dict[str, object]:
    """Engine speed over what the road makes of it, in the shape that `--json` prints."""
    return {
        "gears": [{name: _rounded(value) for name, value in asdict(one).items()} for one in ratios],
        "says": list(ratio_says(ratios)),
        "wrong": list(ratio_wrong(ratios)),
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 4)


def road_plain(changes: tuple[RoadChange, ...]) -> list[dict[str, object]]:
    """The changes in the shape that `--json` prints."""
    return [
        {
            "at_s": round(one.at_s, 3),
            "line": one.name,
            "kmh": round(one.kmh, 2),
            "pedal_frac": round(one.pedal_frac, 4),
            "line_kmh": round(one.line_kmh, 2),
            "off_kmh": round(one.off_kmh, 2),
        }
        for one in changes
    ]
