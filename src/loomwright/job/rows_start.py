"""What is read on the way to the first start and stays on record: a timing light, a sensor beside the truth."""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.job.columns import column
from loomwright.job.row import Row

__all__ = ["LightReading", "SensorPoint"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LightReading(Row):
    """One reading of a timing light against what the controller commanded."""

    rpm: float = column("number", "engine speed", required=True, least=1.0, most=30_000.0)
    commanded_deg: float = column(
        "number", "what the controller commands, before top centre", required=True, least=-90.0, most=720.0
    )
    seen_deg: float = column(
        "number", "what the light shows, before top centre", required=True, least=-720.0, most=720.0
    )
    cylinder: str = column("text", "whose lead the light was on")
    stroke: str = column("word", "what was felt at the plug hole", allowed="compression|exhaust")
    wheel: str = column("text", "teeth of the crank wheel and those missing")
    mark: str = column("text", "cylinder whose mark was looked at")
    changed: str = column("text", "what was corrected before it; earlier readings count no more")
    time: str = column("text", "when")
    who: str = column("text", "by whom")
    notes: str = column("text", "anything worth knowing")


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorPoint(Row):
    """One reading of a sensor beside what it was in truth.

    shown, real: in the units beside them. [-]
    """

    sensor: str = column("text", "the sensor: a part, or its name", required=True)
    about: str = column("word", "what it was read for", required=True, allowed="curve|before the crank|ground offset")
    shown: float = column("number", "what the sensor gave, or the controller showed", required=True)
    shown_unit: str = column("text", "unit of that", allowed="ohm|V|°C|kPa|%")
    real: float | None = column("number", "what it was in truth: thermometer, gauge, meter")
    real_unit: str = column("text", "unit of that", allowed="°C|kPa|bar|%|V")
    pull_up_ohm: float | None = column("number", "pull-up in the controller", least=1.0, most=1_000_000.0)
    instrument: str = column("text", "with what the truth was read")
    time: str = column("text", "when")
    who: str = column("text", "by whom")
    notes: str = column("text", "anything worth knowing")
