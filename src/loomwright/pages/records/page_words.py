"""What is each page of a job called in lists of pages, and to which stage does it belong?

The pages of a stage stand in the order in which they are used. Each word is the page's own, whether it is met in the
strip or beneath its stage.
"""

from __future__ import annotations

from collections.abc import Mapping

__all__ = ["PAGE_WORDS", "STAGE_PAGES"]

PAGE_WORDS: Mapping[str, str] = {
    "add": "add a circuit",
    "arrival": "wishes and quote",
    "beside": "jobs side by side",
    "board": "layout board",
    "built": "as built",
    "car": "in one state",
    "car-plan": "car plan",
    "codes": "square codes",
    "decide": "decide what is blank",
    "drawings": "drawings",
    "dyno": "ready for the dyno",
    "fault": "fault finder",
    "findings": "findings",
    "gears": "gear changes",
    "handover": "handover",
    "hours": "hours",
    "logs": "recorded drives",
    "next": "under the dash",
    "numbers": "starting numbers",
    "pack": "papers",
    "photos": "photos",
    "pins": "pins",
    "placing": "other places",
    "prove": "test sheet",
    "questions": "questions",
    "revisions": "revisions",
    "sensors": "sensors",
    "sheet/parts": "sheets",
    "shorts": "shorts",
    "sizes": "sizes",
    "snags": "snags",
    "start": "first start",
    "survey": "old wires",
    "symptom": "where to look first",
    "timing": "base timing",
    "truth": "truth table",
    "ways": "ways",
    "worst": "worst cases",
    "wrong": "one thing wrong",
}
"""Piece of the address -> word."""

STAGE_PAGES: Mapping[str, tuple[str, ...]] = {
    "arrival": ("arrival", "photos", "questions"),
    "survey": ("survey", "photos"),
    "plan": (
        *("sheet/parts", "add", "pins", "ways", "decide", "findings"),
        *("car", "truth", "worst", "wrong"),
    ),
    "loom": ("car-plan", "sizes", "shorts", "placing", "beside", "drawings", "board", "pack", "built", "next"),
    "prove": ("prove", "next", "fault", "symptom"),
    "first start": ("start", "timing"),
    "calibrate": ("numbers", "sensors", "logs", "dyno"),
    "gearbox": ("gears",),
    "handover": ("snags", "questions", "hours", "pack", "handover"),
}
"""Stage -> its pages."""
