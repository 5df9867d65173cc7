"""What does the pack say beside its first paper, line by line?

Records only, filled by the lists of this room and placed on pages by a writer that works nothing out. They stand apart
from what fills them, so that a pack which is there is set without the solver being read in.
"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.findings import Finding
from loomwright.handover.crimp_sheet import NO_CRIMPS, CrimpSheet
from loomwright.handover.cut_sheet import CutSheet
from loomwright.handover.known_limits import Limit
from loomwright.handover.records import FuseLine, Paper, WireMark
from loomwright.handover.redo_sheet import NOTHING_ASKED, RedoSheet
from loomwright.handover.revision_sheet import NO_REVISIONS, RevisionSheet
from loomwright.handover.wire_ends import WireEnd
from loomwright.handover.wire_list import Note
from loomwright.loom.labels import Label

__all__ = [
    "NO_NUMBERS",
    "NO_OWNER",
    "BoxChart",
    "BuyLine",
    "Cavity",
    "ConnectorFace",
    "DeadGroup",
    "DeadTest",
    "EarthLine",
    "Earths",
    "GearSummary",
    "NumberSheet",
    "OpenLine",
    "OutputTest",
    "OutputTests",
    "OwnerSheet",
    "Pack",
    "PartLine",
    "PartsList",
    "PinLine",
    "RelayContact",
    "RelayLine",
    "SheetNumber",
    "SpliceLine",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class RelayContact:
    """One contact of a relay. terminals: such as 30 to 87. feeds: the points behind it. most: its largest current,
    against what it may carry."""

    terminals: str
    feeds: tuple[str, ...]
    most: str
    rating: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RelayLine:
    """One relay. coil_from, coil_to: what feeds its coil and what earths it. stops: the parts that stop without it."""

    id: str
    name: str
    kind: str
    place: str
    coil_from: str
    coil_to: str
    remark: str
    contacts: tuple[RelayContact, ...]
    stops: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxChart:
    """What sits at one place. place: in words. boxes: names of the boxes there, where the sheets give any."""

    place: str
    boxes: tuple[str, ...]
    fuses: tuple[FuseLine, ...]
    relays: tuple[RelayLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cavity:
    """One cavity. number: as it is counted. [-]   row, column: from 1, seen from the wire side. [-]

    terminal: the part's, empty where none belongs there. wires: what sits in it; none = empty, to be plugged.
    signal: what runs there, in words.
    """

    number: int
    row: int
    column: int
    terminal: str
    wires: tuple[WireEnd, ...]
    signal: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ConnectorFace:
    """One connector. rows, columns: of its face. [-]   known: its layout stands in the sheets and holds its cavities.

    layout_says: what is known of the layout, in a sentence. counted: how cavities and terminals go together.
    dies: the parts that stop once it is unplugged, as far as that was asked.
    pitch_mm: along a row, from row to row; None where it is not known. [mm]   pitch_says: where that is from.
    mate: the connector that is its other half, where there is one.
    unread: what a controller no longer reads then, in words.
    """

    id: str
    part: str
    part_name: str
    place: str
    family: str
    side: str
    mates: str
    keying: str
    notes: str
    rows: int
    columns: int
    known: bool
    layout_says: str
    counted: str
    cavities: tuple[Cavity, ...]
    dies: tuple[str, ...] = ()
    pitch_mm: tuple[float, float] | None = None
    pitch_says: str = ""
    mate: str = ""
    unread: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PinLine:
    """One pin. cavity: connector and number, empty where no connector holds it.   can: its abilities, the usual first.

    does: what its need does; empty where none has it.   most: amps it may carry, as printed.
    """

    controller: str
    terminal: str
    cavity: str
    can: str
    does: str
    wires: tuple[WireEnd, ...]
    most: str
    notes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DeadTest:
    """One wire. near, far: its points, the near one where the group's probe sits. whole: ohms end to end, as printed.

    to_body: ohms from the wire to the body, as printed. through: the parts that let that through.
    """

    mark: WireMark
    size: str
    near: str
    far: str
    whole: str
    to_body: str
    through: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DeadGroup:
    """The tests made from one place. title: where that is."""

    title: str
    tests: tuple[DeadTest, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OutputTest:
    """One output. does: what it is for. off, on: volts at the pin, as printed. amps: through it, against its rating.

    starts: relays that pull in and parts that work. caution: the steps of the cautions that matter here.
    on_v: volts at the pin while it is on, None where it floats. [V]   through_a: amps through it. [A]
    earths: of what starts, each earthed terminal and its volts to the battery's earthed post. [V]
    """

    pin: str
    does: str
    wires: tuple[WireMark, ...]
    off: str
    on: str
    amps: str
    starts: tuple[str, ...]
    caution: tuple[str, ...]
    on_v: float | None = None
    through_a: float = 0.0
    earths: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class OutputTests:
    """All outputs. state: the car meanwhile, as it is typed."""

    state: str
    tests: tuple[OutputTest, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class EarthLine:
    """One earth point. metal: what it is bolted to. ohms: to the battery's earthed post. most: volts there at most.

    dies: the parts that stop once its bolt is off; none of a metal, which cannot be taken off.
    """

    id: str
    name: str
    place: str
    metal: str
    wires: tuple[WireEnd, ...]
    ohms: str
    most: str
    dies: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SpliceLine:
    """One splice or bar. size: the areas of its wires together, in mm²; empty where one of them is open."""

    id: str
    name: str
    kind: str
    place: str
    wires: tuple[WireEnd, ...]
    size: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Earths:
    """Earth points and splices. limit: of one bolted earth, as printed."""

    earths: tuple[EarthLine, ...]
    splices: tuple[SpliceLine, ...]
    limit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLine:
    """One part. what: the settings that tell it from others of its kind. fitted: new, donor, kept or removed."""

    id: str
    name: str
    kind: str
    what: str
    place: str
    fitted: str
    notes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BuyLine:
    """One line for the counter. count: how many. [-]   ids: what they are for."""

    item: str
    count: int
    ids: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenLine:
    """One thing nobody has settled, or that was. what: figure, snag or question. id: of its row, empty for a figure.

    about: the ids it is about. answer: the owner's.
    """

    what: str
    id: str
    says: str
    stage: str
    status: str
    about: str = ""
    answer: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartsList:
    """The parts, what to buy, what is open, and which snags and questions are settled."""

    parts: tuple[PartLine, ...]
    buy: tuple[BuyLine, ...]
    open: tuple[OpenLine, ...]
    settled: tuple[OpenLine, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnerSheet:
    """The sheet. done: a heading and words.   start: steps.   stop: the line that stands above all.

    stops: where current is cut off.   watch: what, and what it tells.   limits: what is known and was left.
    """

    done: tuple[tuple[str, str], ...] = ()
    start: tuple[str, ...] = ()
    stop: str = ""
    stops: tuple[tuple[str, str], ...] = ()
    watch: tuple[tuple[str, str], ...] = ()
    limits: tuple[Limit, ...] = ()


NO_OWNER = OwnerSheet()
"""A sheet with nothing on it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetNumber:
    """One number, printed."""

    says: str
    value: str
    span: str
    formula: str
    source: str
    standing: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GearSummary:
    """The lines of one programme. pedals: in percent.   lines: a name, then one road speed a pedal, in km/h.

    is_kept: somebody drew them; else they are a first set.
    """

    programme: str
    pedals: tuple[str, ...]
    lines: tuple[tuple[str, ...], ...]
    is_kept: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberSheet:
    """The paper. tables: name, what it says, its size.   asks: what is not known and what that stops."""

    numbers: tuple[SheetNumber, ...] = ()
    tables: tuple[tuple[str, str, str], ...] = ()
    asks: tuple[str, ...] = ()
    warns: tuple[str, ...] = ()
    gears: tuple[GearSummary, ...] = ()


NO_NUMBERS = NumberSheet()
"""Neither engine nor gearbox is known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """Everything the pack says, in the order in which it is printed.

    charts: fuses and relays by place, as they are taped inside a lid. notes: what the tool decided.
    redo: what changes ask of what is built.   ways: the faults and warnings whose current takes a way that is drawn.
    owner, revisions, numbers, crimps, pins: the owner's sheet, the job's past, what it starts with, what is crimped,
    what sits on the controllers.
    """

    paper: Paper
    cuts: CutSheet
    relays: tuple[RelayLine, ...]
    charts: tuple[BoxChart, ...]
    connectors: tuple[ConnectorFace, ...]
    dead: tuple[DeadGroup, ...]
    outputs: OutputTests
    labels: tuple[Label, ...]
    earths: Earths
    parts: PartsList
    notes: tuple[Note, ...]
    redo: RedoSheet = NOTHING_ASKED
    ways: tuple[Finding, ...] = ()
    owner: OwnerSheet = NO_OWNER
    revisions: RevisionSheet = NO_REVISIONS
    numbers: NumberSheet = NO_NUMBERS
    crimps: CrimpSheet = NO_CRIMPS
    pins: tuple[PinLine, ...] = ()
