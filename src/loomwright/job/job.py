"""The whole job: every row of every sheet, in one value that nobody can change.

A job is what the sheets say and nothing else. What the tool decides is kept beside it (`decisions`), never written
into it silently. An edit gives a new job (`edits`). Rows keep the order of the sheets; no answer depends on that
order.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from loomwright.job.fixed_map import FixedMap
from loomwright.job.rows import (
    Attempt,
    Bond,
    Cable,
    Change,
    Circuit,
    Connector,
    ControllerPin,
    Crimp,
    Decision,
    Drive,
    Gate,
    HoursEntry,
    KindRow,
    LightReading,
    Metal,
    Need,
    OldWire,
    Part,
    Place,
    Progress,
    Proof,
    Question,
    Reading,
    Reason,
    Requirement,
    Run,
    SensorPoint,
    Snag,
    StockRow,
    SwitchContact,
    VariableRow,
    VehicleProperty,
    Waiver,
    Wire,
    Wish,
)

__all__ = ["ExtraSheets", "Job"]

ExtraSheets = Mapping[str, tuple[Mapping[str, str], ...]]

_NO_SHEETS: FixedMap[str, tuple[Mapping[str, str], ...]] = FixedMap()


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One tuple of rows a sheet, under the sheet's name.

    decisions, reasons: what the tool decided for blank cells and its user kept (`decided` fills them in).
    extra_sheets: sheets that the contract does not know, kept as text to be given back.
    """

    vehicle: tuple[VehicleProperty, ...] = ()
    places: tuple[Place, ...] = ()
    runs: tuple[Run, ...] = ()
    parts: tuple[Part, ...] = ()
    circuits: tuple[Circuit, ...] = ()
    contacts: tuple[SwitchContact, ...] = ()
    metals: tuple[Metal, ...] = ()
    bonds: tuple[Bond, ...] = ()
    cables: tuple[Cable, ...] = ()
    crimps: tuple[Crimp, ...] = ()
    hours: tuple[HoursEntry, ...] = ()
    wires: tuple[Wire, ...] = ()
    connectors: tuple[Connector, ...] = ()
    controller_pins: tuple[ControllerPin, ...] = ()
    needs: tuple[Need, ...] = ()
    drives: tuple[Drive, ...] = ()
    requirements: tuple[Requirement, ...] = ()
    old_wires: tuple[OldWire, ...] = ()
    readings: tuple[Reading, ...] = ()
    kinds: tuple[KindRow, ...] = ()
    stock: tuple[StockRow, ...] = ()
    variables: tuple[VariableRow, ...] = ()
    waived: tuple[Waiver, ...] = ()
    snags: tuple[Snag, ...] = ()
    questions: tuple[Question, ...] = ()
    wishes: tuple[Wish, ...] = ()
    progress: tuple[Progress, ...] = ()
    proofs: tuple[Proof, ...] = ()
    gates: tuple[Gate, ...] = ()
    attempts: tuple[Attempt, ...] = ()
    light_readings: tuple[LightReading, ...] = ()
    sensor_points: tuple[SensorPoint, ...] = ()
    changes: tuple[Change, ...] = ()
    decisions: tuple[Decision, ...] = ()
    reasons: tuple[Reason, ...] = ()
    extra_sheets: ExtraSheets = field(default=_NO_SHEETS)
