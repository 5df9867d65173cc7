"""A judged drive as plain lists and words, in the shape that `--json` prints, and its cells as CSV."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from loomwright.findings import as_plain
from loomwright.logs.dyno import Readiness
from loomwright.logs.in_short import drive_in_short
from loomwright.logs.judged import Judged, Mixture

__all__ = ["cells_csv", "judged_plain"]


def judged_plain(drive: Judged, ready: Readiness) -> dict[str, Any]:
    """Everything a drive says, as plain data."""
    return {
        "in_short": list(drive_in_short(drive, ready)),
        "rows": drive.rows,
        "lasts_s": round(drive.lasts_s, 2),
        "loaded_s": round(drive.loaded_s, 2),
        "step_s": round(drive.step_s, 5),
        "channels": [{**asdict(channel), "sure_frac": round(channel.sure_frac, 3)} for channel in drive.channels],
        "left": list(drive.left),
        "says": list(drive.says),
        "starts": [{**asdict(start), "took": start.took} for start in drive.starts],
        "idles": [asdict(idle) for idle in drive.idles],
        "fan_cycles": drive.fan_cycles,
        "beside": [asdict(one) for one in drive.beside],
        "mixture": None if drive.mixture is None else _mixture(drive.mixture),
        "findings": [as_plain(finding) for finding in drive.findings],
        "dyno": {
            "ready": ready.is_ready,
            "certificate": ready.certificate,
            "criteria": [asdict(one) for one in ready.criteria],
        },
    }


def _mixture(mixture: Mixture) -> dict[str, Any]:
    delay = mixture.delay
    return {
        "delay": {
            "fixed_ms": round(delay.fixed_ms, 2),
            "pipe_ms_g_per_s": round(delay.pipe, 2),
            "probe_ms": delay.probe_ms,
            "typical": delay.typical,
            "says": delay.says,
            "at": [asdict(one) for one in delay.at],
        },
        "steady_rows": mixture.steady_rows,
        "visits": mixture.visits,
        "cells": [
            {**asdict(cell), "proposed": asdict(new)} for cell, new in zip(mixture.cells, mixture.proposal, strict=True)
        ],
    }


def cells_csv(mixture: Mixture) -> str:
    """One line a cell: what was found, how sure, what is proposed."""
    lines = ["rpm,load_kpa,factor,low,high,rows,visits,proposed,old,new,says"]
    for cell, new in zip(mixture.cells, mixture.proposal, strict=True):
        told = ["" if figure is None else f"{figure:.5f}" for figure in (cell.factor, cell.low, cell.high)]
        table = ["" if figure is None else f"{figure:.6g}" for figure in (new.old, new.new)]
        first = [f"{cell.rpm:g}", f"{cell.load:g}", *told, str(cell.rows), str(cell.visits), f"{new.factor:.5f}"]
        lines.append(",".join([*first, *table, '"' + new.says.replace('"', '""') + '"']))
    return "\n".join(lines) + "\n"
