"""What does the first paper of a job say, line by line?

Records only, filled by `paper`, placed on pages by a writer that works nothing out. Every figure stands here as it is
printed, already rounded.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "Caution",
    "FindingEntry",
    "FuseLine",
    "Paper",
    "PartReadings",
    "ReadingLine",
    "StateColumn",
    "TitleBlock",
    "WireLine",
    "WireMark",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class TitleBlock:
    """What identifies the job. facts: name and value, as they are printed under the title."""

    title: str
    revision: str
    date: str
    facts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One caution. step: what a person is about to do when it matters. says: what to do, or not to do.

    kills: it stands on the cover. at: tests where it stands again.
    """

    step: str
    says: str
    kills: bool = False
    at: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingEntry:
    """One finding as it is printed.

    when: its conditions as they may be typed back; empty where it is always so.
    says: what is wrong, with its figures. path: the way of the current. folded: what vanishes with it.
    """

    severity: str
    rule: str
    label: str
    when: str
    says: str
    mend: str
    path: tuple[str, ...]
    folded: tuple[FindingEntry, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WireMark:
    """How a wire is told from its neighbours: its id and its colour (IEC 60757; empty where it is not written down)."""

    id: str
    colour: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WireLine:
    """One wire of the wire list. size, length: as printed, in mm² and mm; empty where they are not decided.

    size_note, length_note: number of the note about what the tool decided; 0 where the sheet says it. [-]
    group: the cable, screen or twist it lies in. crimps: terminal and seal at its start, then at its end.
    """

    mark: WireMark
    circuit: str
    size: str
    start: str
    end: str
    length: str
    notes: str
    insulation: str = ""
    group: str = ""
    crimps: str = ""
    size_note: int = 0
    length_note: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class StateColumn:
    """One state that readings are given for. title: words over the column. state: the same as it is typed."""

    title: str
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingLine:
    """What to expect at one terminal. volts: one a column, `floating` where nothing is there; live: which are live.

    remark: that it pulses, or the nearest change of the car that makes it live where none of the columns does.
    """

    terminal: str
    wires: tuple[WireMark, ...]
    volts: tuple[str, ...]
    live: tuple[bool, ...]
    remark: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PartReadings:
    """The readings at one part, under its name.

    lies: how it lies in each column (pulled, released, alive); empty where nothing of it does. thing: what lies so.
    """

    id: str
    name: str
    place: str
    thing: str
    lies: tuple[str, ...]
    lines: tuple[ReadingLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FuseLine:
    """One fuse. most: its largest current and the state it flows in. dies: the parts that stop when it is out.
    warms: the steady current that would warm it as much, where what flows comes in pulses; else empty.

    place: where it sits, with its box and way where the sheets name them. colour: of its blade, empty where none is
    agreed. feeds: the points that hang on it directly. at: the place alone.
    note: number of the note, where the tool chose its rating. [-]
    """

    id: str
    name: str
    rating: str
    family: str
    place: str
    most: str
    dies: tuple[str, ...]
    colour: str = ""
    feeds: tuple[str, ...] = ()
    at: str = ""
    box: str = ""
    way: str = ""
    note: int = 0
    warms: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """The whole paper, in the order in which it is printed.

    verdict: one sentence about the findings. states: the columns of the readings. at_rest: the other variables there.
    provisional: what was taken because the sheets leave it open.
    """

    title: TitleBlock
    cautions: tuple[Caution, ...]
    verdict: str
    findings: tuple[FindingEntry, ...]
    wires: tuple[WireLine, ...]
    states: tuple[StateColumn, ...]
    at_rest: str
    readings: tuple[PartReadings, ...]
    fuses: tuple[FuseLine, ...]
    provisional: tuple[str, ...]
