"""What does a person who fills in a workbook have to know, and where do the lists stand that its cells offer?

The guide is a sheet of its own, in front of the others. It is made from the same source as the sheets themselves: the
columns of the contract, the library of part kinds, the units that are read. Its first cell says what it is, so that
reading passes over it and over nothing else.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from loomwright.job.columns import Column
from loomwright.job.schema import SHEETS, columns
from loomwright.job.vehicle import BUILT_IN_METALS, PROPERTIES
from loomwright.job.vocabulary import allowed_words, vocabulary
from loomwright.quantities import unit_word
from loomwright.sheets.workbook_drop_downs import Lists, plain_decimal, way_of_writing
from loomwright.sheets.workbook_table import GUIDE_MARK
from loomwright.tables.kinds import Kind, KindSetting
from loomwright.tables.limits import COLOURS

__all__ = ["ALSO_READ", "EXAMPLE", "WIDTHS", "Guide", "GuideLine", "guide_of"]

WIDTHS = (22, 24, 58, 10, 62, 18)
"""Widths of the guide's columns, in letters. [-]"""

_LIST_COLUMN = "B"
_CAUTION = (
    "CAUTION: these sheets know what is typed, not the car. Before you touch it: key out, rings and watch off,",
    "the battery's earth lead off first and on last. The makers' data, the local law on modified vehicles and",
    "licensed practice come before anything that is said here.",
)
_STEPS = (
    "1. One sheet a subject, one row a thing. Begin with vehicle, parts and wires; fill in the others as the job asks.",
    "2. vehicle: type the value beside each name. A blank value has its usual figure.",
    "3. parts: everything with terminals: battery, fuses, relays, lamps, switches, earth points, controllers.",
    "    Give each a short name (id) and pick its kind; the kinds and their terminals stand further down.",
    "4. wires: one row a wire. from and to are points: part.terminal (fan1.+, K1.85, ECU.A12), or a metal",
    f"    ({' '.join(BUILT_IN_METALS)}).",
    "5. Headings in bold must be filled in every row. Any other cell may stay blank: blank means decide for me,",
    "    or the usual value.",
    "6. Click on a cell and a note beside it says what goes there. Where there is a list, an arrow opens it; where",
    "    the list only suggests, something else may be typed.",
    "7. Leave the names of sheets and headings as they are. Sheets and columns of your own may be added: they are",
    "    kept and given back.",
    "8. Save as .xlsx. Then type in a terminal, in the folder of the file and with the file's own name:",
    "    loomwright check my.xlsx",
    "    It tells what is wrong, with sheet, row and column, and what would mend it.",
)
_AS_NEEDED, _WHEN_DONE, _BY_THE_TOOL = "as the job asks for it", "as it is done; rows are only added", "by loomwright"
_SHEETS = {
    "vehicle": ("what is so for the whole car, such as its volts and which post of the battery is earth", "first"),
    "places": ("a place on the car where something sits; x runs rearward, y to the right, z up", "with the lengths"),
    "runs": ("a stretch from place to place that the loom can follow", "with the lengths"),
    "parts": ("a thing with terminals: battery, fuse, relay, lamp, switch, sensor, earth point, controller", "first"),
    "circuits": ("a circuit: what it is for, its class, and the contact that feeds it", "second"),
    "contacts": ("one position of a switch with many, from a continuity test", "for each switch_matrix"),
    "metals": ("a piece of metal that carries current, beside body, engine, gearbox and axle", _AS_NEEDED),
    "bonds": ("a joint between two pieces of metal", _AS_NEEDED),
    "cables": ("a cable with several cores, or with a screen", _AS_NEEDED),
    "crimps": ("a crimp terminal, and which wires it takes", _AS_NEEDED),
    "hours": ("time spent", _WHEN_DONE),
    "wires": ("a wire, from one end to the other", "first"),
    "connectors": ("a connector: which terminals of a part it holds, and which one goes on it", "second"),
    "controller_pins": ("a pin of the controller, and what it can do", "second, where there is a controller"),
    "needs": ("a thing the controller must do or sense", "second, where there is a controller"),
    "drives": ("when an output of the controller is on", "second, where there is a controller"),
    "requirements": ("what must hold at a point: live, dead, so many volts, and when", _AS_NEEDED),
    "old_wires": ("a wire found on the car", "at the survey"),
    "readings": ("one reading of a meter or a test lamp", _WHEN_DONE),
    "kinds": ("an element of a part kind of your own, where the list has none that fits", _AS_NEEDED),
    "stock": ("what the shop holds", _AS_NEEDED),
    "variables": (
        "something of your own that changes with the car's state, beside key, selector and engine",
        _AS_NEEDED,
    ),
    "waived": ("a rule that is switched off in this job, and why", _AS_NEEDED),
    "snags": ("a fault of the car that is open", _AS_NEEDED),
    "questions": ("a question to the owner", _AS_NEEDED),
    "wishes": ("a wish of the owner: in the job or not, and what is there for its sake", "at arrival"),
    "progress": ("a step done on a wire", _WHEN_DONE),
    "proofs": ("a test: what was expected, what was read, how it came out", _WHEN_DONE),
    "gates": ("a gate before the first start, or another: passed, or waived and why", _WHEN_DONE),
    "attempts": ("an attempt to start the engine", _WHEN_DONE),
    "light_readings": ("a reading of the timing light", _WHEN_DONE),
    "sensor_points": ("a reading of a sensor beside what it was in truth", _WHEN_DONE),
    "changes": ("a revision of the job", _WHEN_DONE),
    "decisions": ("what was worked out for a cell that was left blank", _BY_THE_TOOL),
    "reasons": ("why, one limit a row", _BY_THE_TOOL),
}
EXAMPLE = {
    "parts": (
        {"id": "B1", "kind": "battery", "settings": ""},
        {"id": "F1", "kind": "fuse", "settings": "rating_a=10; family=blade_c"},
        {"id": "S1", "kind": "switch", "settings": ""},
        {"id": "L1", "kind": "lamp", "settings": "watt=21"},
    ),
    "wires": (
        {"id": "W1", "from": "B1.+", "to": "F1.1", "size_mm2": "2.5", "colour": "RD"},
        {"id": "W2", "from": "F1.2", "to": "S1.1", "size_mm2": "1", "colour": "RD/WH"},
        {"id": "W3", "from": "S1.2", "to": "L1.1", "size_mm2": "", "colour": "WH/BU"},
        {"id": "W4", "from": "L1.2", "to": "body", "size_mm2": "", "colour": "BN"},
        {"id": "W5", "from": "B1.-", "to": "body", "size_mm2": "25", "colour": "BK"},
    ),
}
"""A job small enough to be seen whole; blank sizes are decided."""

ALSO_READ = {
    "a": ("mA",),
    "c": ("°F", "K"),
    "deg": ("deg",),
    "hours": ("min",),
    "hz": ("kHz", "MHz"),
    "m": ("mm", "cm", "in", "ft"),
    "minutes": ("h", "s"),
    "mm": ("cm", "m", "in", "ft"),
    "mm2": ("AWG",),
    "mohm": ("ohm",),
    "n": ("kN", "lbf"),
    "ohm": ("mohm", "kohm", "Mohm", "Ω"),
    "ohm_per_m": ("mohm/m", "ohm/km"),
    "rpm": ("1/min",),
    "s": ("ms", "min", "h"),
    "v": ("mV",),
    "w": ("mW", "kW"),
}
"""Ending of a unit -> other units that are read behind a figure, as people write them."""

_CONDITIONS = (
    ("key=start", "The variable has that value."),
    ("selector=P|N", "Either value will do."),
    ("coolant_c>=95", "A figure: = != >= <= > <"),
    ("key=run, engine=idle", "With a comma: both must hold."),
    ("before.key=run", "Asked of the state the car came from."),
    ("unplugged=X1", "The connector X1 is off."),
    ("always, never", "In every state; in none. A blank cell means always where the heading is not bold."),
)
_VARIABLES = (
    ("key", "off accessory run start"),
    ("selector", "P R N D 3 2 1"),
    ("engine", "stopped cranking idle running"),
    ("battery", "full flat cold_weak absent jump"),
    ("ambient_c, coolant_c", "figures"),
    ("the id of a switch", "its positions; the sheet variables adds others"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class GuideLine:
    """One row of the guide. look: `mark` `caution` `title` `plain` `headings` `cells`."""

    look: str
    cells: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Guide:
    """The guide's rows in order, and where the lists that cells offer stand in it."""

    lines: tuple[GuideLine, ...]
    lists: Lists


@dataclass(slots=True)
class _Writing:
    """The guide as it grows."""

    lines: list[GuideLine] = field(default_factory=list)
    rows: dict[str, tuple[int, int]] = field(default_factory=dict)

    def add(self, look: str, *cells: str) -> None:
        self.lines.append(GuideLine(look=look, cells=cells))

    def chapter(self, title: str, *heads: str) -> None:
        self.add("plain")
        self.add("title", title)
        if heads:
            self.add("headings", *heads)

    def listed(self, name: str, rows: Sequence[tuple[str, ...]]) -> None:
        """Rows whose second cells are a list that other sheets offer."""
        first = len(self.lines) + 1
        for row in rows:
            self.add("cells", *row)
        self.rows[name] = (first, len(self.lines))


def guide_of(kinds: Mapping[str, Kind], *, sheet: str) -> Guide:
    """The guide to a job's workbook.

    Args:
        kinds: the library's part kinds and the job's own.
        sheet: what the guide is called in this workbook.
    """
    writing = _Writing()
    writing.add("mark", GUIDE_MARK)
    for line in _CAUTION:
        writing.add("caution", line)
    writing.chapter("How to fill in this workbook")
    for line in _STEPS:
        writing.add("plain", line)
    _example(writing)
    _sheets(writing)
    _columns(writing)
    _conditions(writing)
    _units(writing)
    _colours(writing)
    _kinds(writing, kinds)
    _words(writing)
    return Guide(lines=tuple(writing.lines), lists=Lists(sheet=sheet, column=_LIST_COLUMN, rows=writing.rows))


def _sheets(writing: _Writing) -> None:
    writing.chapter("The sheets", "sheet", "must be filled", "a row is", "", "filled in")
    for sheet in SHEETS:
        needed = " ".join(column.name for column in columns(sheet) if column.required)
        row, filled = _SHEETS[sheet]
        writing.add("cells", sheet, needed, row, "", filled)


def _columns(writing: _Writing) -> None:
    writing.chapter("The columns", "sheet", "heading", "what goes there", "unit", "how it is written", "blank")
    for sheet in SHEETS:
        for column in columns(sheet):
            written = way_of_writing(column)
            words = allowed_words(column)
            if words:
                listed = f"see {column.table} under Words" if column.table else " ".join(words)
                written = f"{written}: {listed}" if written else f"any text, such as {listed}"
            cells = (sheet, column.name, column.help, unit_word(column.unit), written or "any text", _blank(column))
            writing.add("cells", *cells)


def _blank(column: Column) -> str:
    if column.required:
        return "must be filled"
    return column.blank if column.blank and isinstance(column.blank, str) else ""


def _conditions(writing: _Writing) -> None:
    writing.chapter("Conditions (in the columns when)", "written", "", "means")
    for written, means in _CONDITIONS:
        writing.add("cells", written, "", means)
    writing.add("headings", "variable", "", "values")
    for name, values in _VARIABLES:
        writing.add("cells", name, "", values)


def _example(writing: _Writing) -> None:
    writing.chapter("An example: a lamp with its fuse and its switch; the body of the car is the way back")
    for sheet, rows in EXAMPLE.items():
        writing.add("headings", f"{sheet}: id", *(name for name in rows[0] if name != "id"))
        for row in rows:
            writing.add("cells", *row.values())


def _units(writing: _Writing) -> None:
    title = "Units: the heading ends with its own, and a figure alone is in it; these may be written behind the figure"
    writing.chapter(title, "unit", "", "also read")
    used = {column.unit for sheet in SHEETS for column in columns(sheet) if unit_word(column.unit)}
    for unit in sorted(used):
        writing.add("cells", unit_word(unit), "", ", ".join(ALSO_READ[unit]))
    writing.add(
        "plain", "1,5 is read as one and a half. 1,234 could mean two things, so it is not read: write 1.234 or 1234."
    )


def _colours(writing: _Writing) -> None:
    writing.chapter("Colours of insulation (IEC 60757): base, or base/tracer such as WH/BU", "", "code", "colour")
    writing.listed("colour", [("", code, name) for code, name in COLOURS.items()])


def _kinds(writing: _Writing, kinds: Mapping[str, Kind]) -> None:
    title = "Part kinds: what stands in the column kind of the sheet parts"
    writing.chapter(title, "what it is", "kind", "terminals", "", "settings, with typical values")
    rows = []
    for kind in kinds.values():
        settings = "; ".join(_setting(setting) for setting in kind.settings)
        rows.append((kind.title, kind.id, " ".join(_terminals(kind)), "", settings))
    writing.listed("kind", rows)


def _terminals(kind: Kind) -> Iterator[str]:
    """The terminals of a kind, counted ones by their first few."""
    if not kind.terminals and kind.duty == "controller":
        yield "as its rows in controller_pins say"
    elif not kind.terminals:
        yield "as its rows in contacts say"
    for terminal in kind.terminals:
        if terminal.name.startswith("*"):
            yield " ".join(f"{number}{terminal.name[1:]}" for number in (1, 2, 3)) + " ..."
        elif not terminal.name.startswith("_"):
            yield terminal.name


def _setting(setting: KindSetting) -> str:
    if setting.default is None or not str(setting.default) or str(setting.default).startswith("$"):
        return setting.name
    value = plain_decimal(setting.default) if isinstance(setting.default, float) else setting.default
    return f"{setting.name}={value}"


def _words(writing: _Writing) -> None:
    writing.chapter("Words to choose from", "list", "word", "")
    for name, words in vocabulary().items():
        writing.listed(name, [(name, word) for word in words])
    writing.listed("property", [("vehicle", name, text) for name, text in PROPERTIES.items()])
