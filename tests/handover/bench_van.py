"""The small van of `van`, with everything a build pack tells about beside: connectors, stock, decisions, open things.

Sizes, lengths and names are invented. W17 has no size, W18 no length, F3 no rating: each is decided; W11 has no length
and nobody has decided one.
"""

from __future__ import annotations

from collections.abc import Mapping

from loomwright.car import Car
from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from loomwright.tables.kinds import load_kinds
from tests.handover.van import Rows, rows

LABEL = "lamp =1+1"


def bench_rows() -> dict[str, Rows]:
    """The sheets, new each time so that a test may change them."""
    sheets = rows()
    wires = {row["id"]: row for row in sheets["wires"]}
    parts = {row["id"]: row for row in sheets["parts"]}
    wires["W17"].update(size_mm2="")
    wires["W18"].update(length_mm="")
    wires["W11"].update(length_mm="")
    wires["W14"].update(terminal_from="T63", seal_from="S63", terminal_to="T63", insulation="C", length_mm="1500")
    wires["W21"].update(twist="T1", length_mm="700")
    wires["W22"].update(twist="T1", length_mm="650")
    wires["W6"].update(cable="C1", length_mm="900")
    wires["W7"].update(cable="C1", length_mm="1200")
    wires["W8"].update(notes="=1+1")
    parts["F3"]["settings"] = ""
    parts["TL"]["name"] = LABEL
    sheets["cables"] = [{"id": "C1", "kind": "flat pair", "cores": "2"}]
    sheets["connectors"] = [
        {"id": "XE", "part": "ECU", "terminals": "A*", "ways": "6", "family": "sealed 1.5", "layout": "2x3"},
        {"id": "XF", "part": "FAN", "terminals": "+ -", "ways": "2", "family": "flat 6.3"},
    ]
    sheets["stock"] = [
        {"item": "reel", "size_mm2": "2.5", "colour": "", "length_m": "1.2"},
        {"item": "reel", "size_mm2": "1.5", "colour": "BN", "length_m": "50"},
    ]
    sheets["snags"] = [
        {"id": "S1", "stage": "prove", "text": "horn is silent", "status": "open"},
        {"id": "S2", "text": "mended long ago", "status": "done"},
    ]
    sheets["questions"] = [{"id": "Q1", "text": "which radio?", "status": "with the owner"}]
    sheets["changes"] = [{"revision": "2", "who": "me"}, {"revision": "3", "who": "me"}]
    sheets["progress"] = [{"wire": "W12", "end": "both", "step": "cut", "length_mm": "1040"}]
    sheets["decisions"] = [
        {"sheet": "wires", "row": "W17", "column": "size_mm2", "value": "0.75", "decided_by": "strength"},
        {"sheet": "wires", "row": "W18", "column": "length_mm", "value": "820", "decided_by": "route"},
        {"sheet": "wires", "row": "W8", "column": "size_mm2", "value": "9", "decided_by": "heat"},
        {"sheet": "parts", "row": "F3", "column": "settings.rating_a", "value": "5", "decided_by": "load"},
    ]
    sheets["reasons"] = [
        {
            "sheet": "wires",
            "row": "W17",
            "column": "size_mm2",
            "limit": "strength",
            "says": "no wire under 0.75 mm² there",
        },
        {"sheet": "wires", "row": "W17", "column": "size_mm2", "limit": "heat", "says": "0.5 mm² would do"},
    ]
    return sheets


def bench_job(sheets: Mapping[str, Rows] | None = None) -> Job:
    """The job of those sheets."""
    return job_from_text(sheets or bench_rows())


def bench_car(sheets: Mapping[str, Rows] | None = None) -> Car:
    """The car of those sheets."""
    return Car(bench_job(sheets), load_kinds())
