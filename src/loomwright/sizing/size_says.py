"""What does each limit say of a size or a rating, in a sentence with its figures, and where is the figure from?

One sentence a limit: what was found at the size that stands, what is allowed, and what the next thinner size would do
where that breaks it. Found figures are rounded up, allowed ones down (volts a point must have: the other way round).
"""

from __future__ import annotations

from loomwright.quantities.gauge import gauge_size_mm2
from loomwright.quantities.printing import Side, for_print, without_dust
from loomwright.sizing.sized import Ask, SizedFuse, SizedWire
from loomwright.tables.ampacity import ampacity
from loomwright.tables.conductors import gauge_number, sizes_mm2
from loomwright.tables.constants import constant
from loomwright.tables.fuses import families
from loomwright.tables.load import read_rows

__all__ = ["fuse_says", "method_of", "place_of", "table_of", "wire_says"]

_LASTS = {
    "steady": "for ever",
    "pulling in": "for ever",
    "cranking": f"for {constant('cranking_s'):g} s of cranking",
    "stalled": f"for {constant('stall_s'):g} s with the starter held fast",
}
_LITTLE_A = 0.001
_METHODS = {
    "strength": "tables.limits.least_size_mm2",
    "terminal": "job.crimp_fits.end_fits",
    "heat": "sizing.wire_heat.heat_of",
    "fuse": "sizing.fuse_asks.unguarded",
    "volts": "sizing.volt_choice.choose_volts",
    "lead": "sizing.lead_size.one_size_leads",
    "stock": "sizing.open_cells.stocked_mm2",
    "sizes": "sizing.choosing.choose",
    "load": "sizing.fuse_choice.usable",
    "starting": "sizing.fuse_choice.passing_factor",
    "rush": "sizing.fuse_choice.rush_met",
}


def method_of(ask: Ask) -> str:
    """The function that worked a limit out."""
    return _METHODS[ask.limit]


def wire_says(wire: SizedWire, ask: Ask) -> str:
    """What a limit says of a wire's size."""
    size, thin = _mm2(wire.size_mm2), _mm2(wire.thinner_mm2)
    if ask.limit == "strength":
        return f"circuits of class {ask.at} take no wire thinner than {_mm2(ask.allowed)}"
    if ask.limit == "terminal":
        return f"the {ask.at}" + ("" if ask.thinner is None else f"; {thin} is not taken")
    if ask.limit == "lead":
        return f"from the battery to the starter one size is laid, and {ask.at} needs {size}"
    if ask.limit == "stock":
        return f"no other limit asks for more than {thin}, and the shop does not hold that"
    if ask.limit == "sizes":
        return f"no limit asks for more than {thin} by itself; {size} is what is left once all wires hold together"
    if ask.found is None or ask.allowed is None:
        if ask.limit == "fuse" and ask.asks is not None:
            return "what feeds it gives less than it carries, so no fuse is asked to guard it"
        return {
            "heat": "nothing flows through it in any state that was solved",
            "fuse": "no fuse is asked to guard it: a load, a driver or the earth limits what it carries",
            "volts": "it lies on no way whose volts are judged",
        }[ask.limit]
    if ask.limit == "heat":
        where = f"at {ask.at}, " if ask.at else ""
        flows = f"{_flows(ask.found, _LASTS[ask.kind])}, {where}{_up(ask.at_c or 0.0)} °C"
        return f"{flows}; {size} carries {_down(ask.allowed)} A" + _and(thin, ask, "carries {} A", side="down")
    if ask.limit == "fuse":
        return _guards(ask, size, thin)
    return _volts(ask, thin)


def fuse_says(fuse: SizedFuse, ask: Ask) -> str:
    """What a limit says of a fuse's rating."""
    found = _up(ask.found or 0.0)
    rating = f"{fuse.rating_a:g} A" if fuse.rating_a is not None else "no rating"
    allowed = "nothing known" if ask.allowed is None else f"{_down(ask.allowed)} {ask.unit}"
    smaller = "" if ask.thinner is None else f"; the next smaller one {{}} {_down(ask.thinner)} {ask.unit}"
    if ask.limit == "load":
        where = f" at {ask.at_c:g} °C" if ask.at_c is not None and ask.source == "fuse-note" else ""
        return f"{_flows(ask.found or 0.0, 'for ever')}; {rating} carries {allowed}{where}{smaller.format('carries')}"
    if ask.limit == "starting":
        lasts = f"for {constant('cranking_s'):g} s"
        flows = _flows(ask.found or 0.0, "while the starter is fed")
        return f"{flows}; {rating} lets {allowed} pass {lasts}{smaller.format('lets')}"
    return f"the first rush is {found} A²s; {rating} opens at no less than {allowed}{smaller.format('at')}"


def table_of(wire: SizedWire | SizedFuse, ask: Ask) -> str:
    """The table and the row a limit rests on."""
    if isinstance(wire, SizedFuse):
        return _fuse_table(wire, ask)
    if ask.limit == "strength":
        return f"classes: {ask.at}, least_mm2"
    if ask.limit == "terminal":
        return "crimp_terminals, contact_widths: the terminal's" if ask.source else "sheet crimps: the terminal's"
    if ask.limit == "volts":
        ohms = f"conductors_metric: {_row_near(wire.size_mm2)} mm²"
        return f"classes: limit_v; {ohms}" if ask.kind == "drop" else f"requirements: {ask.at}; {ohms}"
    if ask.limit == "heat" or ask.rule in ("PRO-1", "PRO-2"):
        return _ampacity_row(wire)
    if ask.rule in ("PRO-3", "PRO-4"):
        return "fuse_gates: the family's" + (", 135 %" if ask.rule == "PRO-4" else "")
    return ""


def place_of(wire: SizedWire | SizedFuse, ask: Ask) -> str:
    """Where in its source the figure of a limit stands; empty where no place is known."""
    if isinstance(wire, SizedWire) and wire.size_mm2 is not None and wire.insulation_c is not None:
        if ask.limit == "heat" or ask.rule in ("PRO-1", "PRO-2"):
            return ampacity(wire.size_mm2, wire.insulation_c, ask.at_c or 30.0).place
        if ask.rule == "PRO-4":
            return "gates, 135 %"
    if ask.limit == "rush":
        return "pulse shapes: decay"
    return ""


def _guards(ask: Ask, size: str, thin: str) -> str:
    found, allowed = ask.found or 0.0, ask.allowed or 0.0
    if ask.rule == "PRO-1":
        says = f"{ask.at} gives up to {_up(found)} A past no fuse; {size} carries {_down(allowed)} A"
        return says + _and(thin, ask, "carries {} A", side="down")
    if ask.rule == "PRO-2" and ask.unit == "mm²":
        return f"the link {ask.at} has {_up(found)} mm², and must be thinner than the wire"
    if ask.rule == "PRO-2":
        says = f"{ask.at} asks that it carries {_up(found)} A for ever; {size} carries {_down(allowed)} A"
        return says + _and(thin, ask, "carries {} A", side="down")
    if ask.rule == "PRO-3":
        says = f"a dead short at its far end leaves it at {_up(found)} °C once {ask.at} is open, "
        says += f"allowed {_down(allowed)} °C"
    else:
        says = f"the longest overload {ask.at} may stand makes it {_up(found)} °C, its class stands {_down(allowed)} °C"
    return says + _and(thin, ask, "comes to {} °C", side="up")


def _volts(ask: Ask, thin: str) -> str:
    found, allowed = ask.found or 0.0, ask.allowed or 0.0
    if ask.kind == "drop":
        says = f"{_up(found)} V are lost on the way to {ask.at} and back, allowed {_down(allowed)} V"
        return says + _and(thin, ask, "loses {} V there", side="up")
    if ask.kind == "least":
        says = f"{ask.rule} has {_down(found)} V, and {ask.at} asks for {_up(allowed)} V"
        return says + _and(thin, ask, "leaves {} V", side="down")
    says = f"{ask.rule} stands at {_up(found)} V, and {ask.at} allows {_down(allowed)} V"
    return says + _and(thin, ask, "makes it {} V", side="up")


def _and(thin: str, ask: Ask, does: str, *, side: Side) -> str:
    """What the next thinner size would do, where it breaks the limit."""
    return "" if ask.thinner is None else f"; {thin} {does.format(for_print(ask.thinner, side=side))}"


def _mm2(size_mm2: float | None) -> str:
    return "nothing" if size_mm2 is None else f"{for_print(size_mm2)} mm²"


def _flows(amps: float, lasts: str) -> str:
    """How much flows and how long, in words where it is nothing or next to nothing."""
    if not without_dust(amps):
        return "nothing flows"
    return f"{_up(amps)} A flow {lasts}" if amps >= _LITTLE_A else f"less than 1 mA flows {lasts}"


def _up(value: float) -> str:
    return for_print(without_dust(value), side="up")


def _down(value: float) -> str:
    return for_print(value, side="down")


def _ampacity_row(wire: SizedWire) -> str:
    """The rows of the ampacity tables that a size lies on or between."""
    if wire.size_mm2 is None or wire.insulation_c is None:
        return ""
    boat = [(gauge_size_mm2(gauge_number(row["awg"])), f"{row['awg']} AWG") for row in read_rows("ampacity_boat")]
    small = [(float(row["size_mm2"]), f"{row['size_mm2']} mm²") for row in read_rows("ampacity_small")]
    known = ampacity(wire.size_mm2, wire.insulation_c)
    rows = sorted([*boat, *small])
    at = min(range(len(rows)), key=lambda number: abs(rows[number][0] - wire.size_mm2))  # type: ignore[operator]
    between = [row for row in rows if row[0] >= wire.size_mm2 or row is rows[-1]][:1]
    below = [row for row in rows if row[0] <= wire.size_mm2][-1:]
    words = f"{below[0][1]} to {between[0][1]}" if known.interpolated and below and between else rows[at][1]
    table = "ampacity_boat" if wire.size_mm2 >= boat[0][0] else "ampacity_small"
    return f"{table}: {words}, {known.column_c} °C"


def _row_near(size_mm2: float | None) -> str:
    """The row of the resistance table of a size, or the two it lies between."""
    rows = sizes_mm2()
    if size_mm2 is None:
        return ""
    if size_mm2 in rows:
        return f"{size_mm2:g}"
    below, above = max(size for size in rows if size < size_mm2), min(size for size in rows if size > size_mm2)
    return f"{below:g} to {above:g}"


def _fuse_table(fuse: SizedFuse, ask: Ask) -> str:
    if ask.limit == "load":
        return "fuse_ambient: the family's curve" if ask.source == "fuse-note" else "constants: fuse_continuous_frac"
    known = families().get(fuse.family)
    return f"fuse_gates: {known.id}" if known is not None else ""
