"""The sheets of finding out and of what is asked and left to do: wishes, old wires, readings, hours, snags ..."""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.job.columns import column
from loomwright.job.conditions import ALWAYS, Condition
from loomwright.job.row import Row

__all__ = ["STAGES", "HoursEntry", "OldWire", "Question", "Reading", "Snag", "Wish"]

STAGES = "arrival|survey|plan|loom|prove|first start|calibrate|gearbox|handover"
_CUT_ENDS = "source|load"
_STATUS = "open|done|with the owner"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish(Row):
    """A wish of the owner: what it is, whether it is in the job, and what it makes. minutes: beside the sheets. [min]

    circuits, parts: what is there for its sake, so that its cost is counted from them; a thing that two wishes need
    stays as long as one of them does. price: of what no other sheet holds.
    """

    id: str = column("id", "short name of the wish", key=True)
    text: str = column("text", "what the owner wishes, in the owner's own words")
    included: str = column(
        "word", "whether it is in the job; asked: the owner decides", allowed="yes|no|asked", blank="asked"
    )
    circuits: tuple[str, ...] = column("refs", "circuits that are there for its sake", refers="circuits")
    parts: tuple[str, ...] = column("refs", "parts beside those circuits that it needs", refers="parts")
    stage: str = column("text", "stage its own minutes fall in; blank: loom", allowed=STAGES)
    minutes: float | None = column("number", "work that no other sheet holds", least=0.0, most=100_000.0)
    price: float | None = column("number", "price of what no other sheet holds", least=-1e9, most=1e9)
    notes: str = column("text", "anything worth knowing")


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
    stub: str = column("text", "which cut end: source or load side", allowed=_CUT_ENDS)
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
    to: str = column("point", "the second probe; blank: the battery's earthed post; clamp: the end it was at")
    value: float | str | None = column("value", "the figure, or full, dim, dark, open, pulsing")
    unit: str = column("text", "unit of the figure", allowed="V|ohm|A")
    stub: str = column("text", "which cut end: source or load side", allowed=_CUT_ENDS)
    instrument: str = column("text", "with what")
    lamp_w: float | None = column("number", "watts of the test lamp", least=0.01, most=1000.0)
    amps: float | None = column("number", "amps drawn meanwhile", unit="a", least=-10_000.0, most=10_000.0)
    battery_v: float | None = column("number", "volts at the battery meanwhile", least=-100.0, most=100.0)
    visit: str = column("text", "which visit to the car")
    note: str = column("text", "anything worth knowing")
    time: str = column("text", "when")
    seen: str = column(
        "word",
        "what lit, moved or sounded while the wire was earthed, a load stub fed, through the test lamp",
        allowed="nothing|charge lamp|oil lamp|handbrake lamp|interior lamp|needle|horn|its load",
    )
    off: tuple[str, ...] = column(
        "list",
        "fuses pulled, relays and plugs out, wires off at their first end, or W12:ER.1 at that; lamp: the battery "
        "through 21 W",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Snag(Row):
    """An open fault of the car."""

    id: str = column("id", "short name of the snag", key=True)
    stage: str = column("text", "stage it stands in the way of", allowed=STAGES)
    text: str = column("text", "what is wrong")
    status: str = column("text", "open or done", allowed=_STATUS)
    photo: str = column("text", "name of the picture")
    about: tuple[str, ...] = column("list", "ids of the things it is about, apart by spaces")


@dataclass(frozen=True, slots=True, kw_only=True)
class Question(Row):
    """A question that the owner must answer."""

    id: str = column("id", "short name of the question", key=True)
    stage: str = column("text", "stage that waits for it", allowed=STAGES)
    text: str = column("text", "what is asked")
    status: str = column("text", "open or done", allowed=_STATUS)
    answer: str = column("text", "what the owner said")
    photo: str = column("text", "name of the picture")
    about: tuple[str, ...] = column("list", "ids of the things that wait for it, apart by spaces")
