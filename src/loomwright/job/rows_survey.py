"""The sheets of finding out and of what is left to do: old wires, readings, hours, snags, questions."""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.job.columns import column
from loomwright.job.conditions import ALWAYS, Condition
from loomwright.job.row import Row

__all__ = ["STAGES", "HoursEntry", "OldWire", "Question", "Reading", "Snag"]

STAGES = "arrival|survey|plan|loom|prove|first start|calibrate|gearbox|handover"
_STATUS = "open|done|with the owner"


@dataclass(frozen=True, slots=True, kw_only=True)
class HoursEntry(Row):
    """Time spent. minutes: how long. [min]"""

    stage: str = column("text", "which stage of the job", allowed=STAGES)
    minutes: float | None = column("number", "how long", least=0.0, most=100_000.0)
    who: str = column("text", "whose time")
    note: str = column("text", "on what")
    time: str = column("text", "when")


@dataclass(frozen=True, slots=True, kw_only=True)
class OldWire(Row):
    """A wire found on the car. fate: what becomes of it."""

    id: str = column("id", "short name, as tagged on the car", key=True)
    colour: str = column("colour", "IEC 60757, base/tracer, as it looks now")
    where: str = column("text", "where it was found")
    plug: str = column("text", "plug and cavity it ends in")
    stub: str = column("text", "which cut end: source or load side")
    segment: str = column("text", "which stretch, where the colour changes")
    size_mm2: float | None = column("number", "conductor area", least=0.01, most=1000.0)
    fate: str = column("word", "what becomes of it", allowed="keep|adapt|cut back|leave")
    joins_to: str = column("point", "point of the new loom it is joined to")
    notes: str = column("text", "anything worth knowing")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading(Row):
    """One meter reading, never changed afterwards. value: a figure in `unit`, or what the test lamp showed."""

    old_wire: str = column("ref", "the old wire that was measured", refers="old_wires")
    point: str = column("point", "or the point that was measured")
    when: Condition = column("condition", "the car as it stood: key=run, lights=dipped", blank=ALWAYS)  # noqa: RUF009
    measure: str = column("word", "what was measured", allowed="volts|ohms|amps|lamp|clamp")
    to: str = column("point", "the second probe; blank: the battery's earthed post")
    value: float | str | None = column("value", "the figure, or full, dim, dark, open")
    unit: str = column("text", "unit of the figure", allowed="V|ohm|A")
    stub: str = column("text", "which cut end: source or load side")
    instrument: str = column("text", "with what")
    lamp_w: float | None = column("number", "watts of the test lamp", least=0.01, most=1000.0)
    amps: float | None = column("number", "amps drawn meanwhile", unit="a", least=-10_000.0, most=10_000.0)
    battery_v: float | None = column("number", "volts at the battery meanwhile", least=-100.0, most=100.0)
    visit: str = column("text", "which visit to the car")
    note: str = column("text", "anything worth knowing")
    time: str = column("text", "when")


@dataclass(frozen=True, slots=True, kw_only=True)
class Snag(Row):
    """An open fault of the car."""

    id: str = column("id", "short name of the snag", key=True)
    stage: str = column("text", "stage it stands in the way of", allowed=STAGES)
    text: str = column("text", "what is wrong")
    status: str = column("text", "open or done", allowed=_STATUS)
    photo: str = column("text", "name of the picture")


@dataclass(frozen=True, slots=True, kw_only=True)
class Question(Row):
    """A question that the owner must answer."""

    id: str = column("id", "short name of the question", key=True)
    stage: str = column("text", "stage that waits for it", allowed=STAGES)
    text: str = column("text", "what is asked")
    status: str = column("text", "open or done", allowed=_STATUS)
    answer: str = column("text", "what the owner said")
    photo: str = column("text", "name of the picture")
