"""How does what was typed or pressed on the card of a reading become a row of the sheet `readings`?"""

from __future__ import annotations

import re
from collections.abc import Mapping

from loomwright.refusals import Problem

__all__ = ["nothing_read", "reading_cells"]

_FIGURE = re.compile(r"([+-]?[0-9]*[.]?[0-9]+)\s*(\D*)")
_COMMA = re.compile(r"(?<=[0-9]),(?=[0-9]+(?:\s*\D*)?$)")
_UNITS = {"volts": "V", "ohms": "ohm"}
_KEPT = ("when", "stub", "battery_v", "to", "note", "instrument")


def reading_cells(typed: Mapping[str, str]) -> dict[str, str]:
    """The cells of a reading, blank ones left out; without a figure or a word where nothing was read.

    Args:
        typed: `wire`, `measure`, `when`, `stub`, `value`; or `lamp`, `seen`, `word` where a button was pressed.
    Example:
        >>> reading_cells({"wire": "7", "measure": "volts", "when": "key=run", "value": "12,1"})
        {'old_wire': '7', 'when': 'key=run', 'measure': 'volts', 'value': '12.1', 'unit': 'V'}
        >>> reading_cells({"wire": "7", "measure": "volts", "when": "key=run", "lamp": "dim"})["measure"]
        'lamp'
    """
    measure = typed.get("measure", "")
    measure = "lamp" if measure == "seen" or typed.get("lamp") or typed.get("seen") else measure
    cells = {"old_wire": typed.get("wire", "")}
    cells |= {name: typed.get(name, "") for name in _KEPT if name == "when"}
    cells |= {"measure": measure, "value": "", "unit": ""}
    value = _COMMA.sub(".", typed.get("value", "").strip())
    match = _FIGURE.fullmatch(value)
    if typed.get("lamp") or typed.get("word"):
        cells["value"] = typed.get("lamp") or typed.get("word", "")
    elif match:
        cells["value"], cells["unit"] = match.group(1), match.group(2).strip() or _UNITS.get(measure, "")
    else:
        cells["value"] = value
    cells["seen"] = typed.get("seen", "")
    cells |= {name: typed.get(name, "") for name in _KEPT if name != "when"}
    if measure == "lamp":  # a meter was not what it was seen on
        cells["instrument"] = ""
    cells["battery_v"] = _COMMA.sub(".", cells["battery_v"])
    return {heading: text for heading, text in cells.items() if text}


def nothing_read(cells: Mapping[str, str]) -> tuple[Problem, ...]:
    """Why a reading is none: no figure and no word; nothing where there is one."""
    if cells.get("value") or cells.get("seen"):
        return ()
    problem = Problem(
        sheet="",
        row=None,
        column="",
        found="",
        allowed="the figure the meter shows, or what the lamp does",
        mend="Type the figure, or press the word",
    )
    return (problem,)
