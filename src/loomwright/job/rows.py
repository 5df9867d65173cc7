"""One row type a sheet; all of them in one place to import from.

Field names are the headings of the sheets; a word of the language has an underscore behind it (`from_`, `class_`).
Blank figures are None, blank words are empty. See `columns` for how a field is declared and `schema` for the sheets.
"""

from __future__ import annotations

from loomwright.job.row import Row
from loomwright.job.rows_car import Bond, Circuit, Metal, Part, Place, Run, SwitchContact, VehicleProperty
from loomwright.job.rows_control import ControllerPin, Drive, KindRow, Need, Requirement, VariableRow, Waiver
from loomwright.job.rows_decisions import Decision, Reason
from loomwright.job.rows_loom import Cable, Connector, Crimp, StockRow, Wire
from loomwright.job.rows_records import Attempt, Change, Gate, Progress, Proof
from loomwright.job.rows_start import LightReading, SensorPoint
from loomwright.job.rows_survey import HoursEntry, OldWire, Question, Reading, Snag, Wish

__all__ = [
    "Attempt",
    "Bond",
    "Cable",
    "Change",
    "Circuit",
    "Connector",
    "ControllerPin",
    "Crimp",
    "Decision",
    "Drive",
    "Gate",
    "HoursEntry",
    "KindRow",
    "LightReading",
    "Metal",
    "Need",
    "OldWire",
    "Part",
    "Place",
    "Progress",
    "Proof",
    "Question",
    "Reading",
    "Reason",
    "Requirement",
    "Row",
    "Run",
    "SensorPoint",
    "Snag",
    "StockRow",
    "SwitchContact",
    "VariableRow",
    "VehicleProperty",
    "Waiver",
    "Wire",
    "Wish",
]
