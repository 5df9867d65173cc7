"""`loomwright faults`: every wire shorted to the body at each end, and which shorts no fuse ends."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from math import isfinite

from loomwright.cli.asking import add_job, known, open_car
from loomwright.cli.printing import as_json, counted, show, show_hanging
from loomwright.findings import id_order
from loomwright.quantities.printing import for_print, with_unit
from loomwright.sizing.faults import VERDICTS, Faults, ShortAt, WireFaults

__all__ = ["HELP", "add_arguments", "run"]

HELP = (
    "every wire shorted to the body at each end: current, when its fuse opens, how hot; and which shorts no fuse ends"
)

_HEADINGS = ("wire", "size", "short at", "amps", "fuse", "opens in", "copper", "stands", "verdict")
_MOST = 8


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument("wires", nargs="*", metavar="WIRE", help="named right after the job: only these")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    car = open_car(arguments.job)
    found = car.faults()
    known("wire", arguments.wires, found.wires)
    only = frozenset(arguments.wires)
    wires = [found.wires[name] for name in sorted(found.wires, key=id_order) if not only or name in only]
    if arguments.json:
        as_json(_plain(found, wires))
    else:
        _show(found, wires)
    return 1 if any(one.verdict == "harmed" for one in wires) else 0


def _plain(found: Faults, wires: Sequence[WireFaults]) -> dict[str, object]:
    return {
        "wires": {one.wire: _plain_wire(one) for one in wires},
        "verdicts": {str(verdict): count for verdict, count in found.counted().items()},
        "unfused_mm": round(found.unfused_mm, 1),
        "says": dict(VERDICTS),
    }


def _plain_wire(one: WireFaults) -> dict[str, object]:
    left = one.left_over
    return {
        "size_mm2": one.size_mm2,
        "verdict": one.verdict,
        "shorts": [
            {
                "end": each.end,
                "point": each.point,
                "verdict": each.verdict,
                "fuse": each.fuse or None,
                "amps": _round(each.amps, 1),
                "opens_s": _round(each.opens_s, 4),
                "never_opens": each.opens_s is not None and not isfinite(each.opens_s),
                "peak_c": _round(each.peak_c, 1),
                "stands_c": each.stands_c,
                "melts": each.is_molten,
            }
            for each in one.shorts
        ],
        "left_over": None
        if left is None
        else {
            "fuse": left.fuse,
            "amps": round(left.amps, 2),
            "steady_c": round(left.steady_c, 1),
            "melts": left.is_molten,
            "class_c": left.class_c,
            "too_hot": left.is_too_hot,
            "heat_w": round(left.heat_w, 1),
        },
        "unfused_mm": one.unfused_mm,
    }


def _round(value: float | None, digits: int) -> float | None:
    return round(value, digits) if value is not None and isfinite(value) else None


def _show(found: Faults, wires: Sequence[WireFaults]) -> None:
    rows = [(one, each) for one in wires for each in one.shorts if each.verdict not in ("earth", "limited")]
    if rows:
        _show_rows((_HEADINGS, *(_row(one, each) for one, each in rows)))
        show()
    for verdict, count in found.counted().items():
        show(f"{counted(count, 'wire')}: {VERDICTS[verdict]}.")
    if found.unfused_mm:
        show(f"Unfused: {with_unit(found.unfused_mm / 1000.0, 'm', side='up')} of wire that nothing opens.")
    hot = [one for one in wires if one.left_over is not None and one.left_over.is_too_hot]
    if hot:
        show()
        show("What no fuse ends: a short through some resistance that draws just less than blows the fuse.")
        hot.sort(key=lambda one: -(one.left_over.steady_c if one.left_over else 0.0))
        for one in hot[:_MOST]:
            show_hanging(_left_over(one), "    ")
        if len(hot) > _MOST:
            show(f"and {len(hot) - _MOST} more; name a wire after the job for its own.")
    elif wires:
        show("No wire passes its class under a current that need never blow its fuse.")


def _row(one: WireFaults, each: ShortAt) -> tuple[str, ...]:
    size = "–" if one.size_mm2 is None else with_unit(one.size_mm2, "mm2")
    amps = "–" if each.amps is None else f"{for_print(each.amps, digits=3)} A"
    opens = "–" if each.opens_s is None else _seconds(each.opens_s)
    copper = "–" if each.peak_c is None else "melts" if each.is_molten else _degrees(each.peak_c)
    stands = "–" if each.stands_c is None else f"{each.stands_c:g} °C"
    return one.wire, size, each.point, amps, each.fuse or "–", opens, copper, stands, each.verdict


def _degrees(at_c: float) -> str:
    return f"{for_print(at_c, side='up', digits=3)} °C"


def _seconds(time_s: float) -> str:
    return f"{for_print(time_s, side='up', digits=2)} s" if isfinite(time_s) else "never"


def _left_over(one: WireFaults) -> str:
    left = one.left_over
    if left is None:
        return ""
    hot = "melt it" if left.is_molten else f"make it {_degrees(left.steady_c)}"
    return (
        f"{one.wire}: {for_print(left.amps, digits=3)} A need never blow {left.fuse} and {hot}, "
        f"its insulation stands {left.class_c:g} °C; "
        f"the short itself gives up to {for_print(left.heat_w, side='up', digits=2)} W"
    )


def _show_rows(rows: Sequence[tuple[str, ...]]) -> None:
    """Columns side by side, as wide as they need."""
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    for row in rows:
        show("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())
