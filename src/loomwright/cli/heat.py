"""`loomwright heat`: how warm every wire is in one state, by itself and among the others in its runs."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from math import isfinite

from loomwright.cli.asking import add_changes, add_job, add_state, known, open_car, question_of
from loomwright.cli.printing import as_json, counted, show, show_hanging
from loomwright.findings import id_order
from loomwright.heat.in_runs import RunHeat, Warm, WireHeat
from loomwright.heat.still_air import pressure_kpa_at
from loomwright.quantities.printing import for_print, with_unit
from loomwright.refusals import OutOfReach

__all__ = ["HELP", "add_arguments", "run"]

HELP = "how warm every wire is in one state, by itself and among the others in its runs"

_HEADINGS = ("wire", "size", "amps", "air", "alone", "warmest", "stands")
_RUN_HEADINGS = ("run", "wires", "bundle", "air", "surface", "warmest")
_LEAST_A = 0.05
_LONGEST_S = 1e6


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument("wires", nargs="*", metavar="WIRE", help="named right after the job: only these")
    add_state(parser)
    add_changes(parser)
    parser.add_argument(
        "--after", type=float, default=None, metavar="SECONDS", help="cold wires so long after; settled where left out"
    )
    parser.add_argument(
        "--on", type=float, default=None, metavar="SECONDS", help="with --off: the currents come and go, so long on"
    )
    parser.add_argument("--off", type=float, default=None, metavar="SECONDS", help="and so long off, over and over")
    parser.add_argument("--altitude", type=float, default=0.0, metavar="METRES", help="thin air cools less")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    after_s: float | None = arguments.after
    if after_s is not None and not 0.0 < after_s <= _LONGEST_S:
        raise OutOfReach("--after", after_s, f"more than nothing, {_LONGEST_S:g} s at most")
    pressure_kpa = pressure_kpa_at(arguments.altitude)
    car = open_car(arguments.job)
    known("wire", arguments.wires, {wire.id for wire in car.job.wires})
    asked = question_of(arguments, car)
    found = car.heat(
        asked.state,
        before=asked.before,
        changes=asked.changes,
        after_s=after_s,
        on_off_s=_on_off_s(arguments),
        only=arguments.wires,
        pressure_kpa=pressure_kpa,
    )
    only = frozenset(arguments.wires)
    wires = [found.wires[name] for name in sorted(found.wires, key=id_order) if not only or name in only]
    if arguments.json:
        as_json(_plain(found, wires, only))
    else:
        _show(found, wires, only)
    return 1 if any(_is_too_hot(one) for one in wires) else 0


def _on_off_s(arguments: Namespace) -> tuple[float, float] | None:
    """How long the currents come on and are off. [s]"""
    on_s: float | None = arguments.on
    off_s: float | None = arguments.off
    if on_s is None and off_s is None:
        return None
    if on_s is None or not 0.0 < on_s <= _LONGEST_S:
        raise OutOfReach("--on", "nothing" if on_s is None else on_s, f"more than 0 s, {_LONGEST_S:g} s at most")
    if off_s is None or not 0.0 <= off_s <= _LONGEST_S:
        raise OutOfReach("--off", "nothing" if off_s is None else off_s, f"0 s or more, {_LONGEST_S:g} s at most")
    return on_s, off_s


def _is_too_hot(one: WireHeat) -> bool:
    """Whether it passes its class: where its current comes and goes, by what it then reaches."""
    return one.is_too_hot if one.peak_c is None else one.class_c is not None and one.peak_c > one.class_c


def _plain(found: Warm, wires: Sequence[WireHeat], only: frozenset[str]) -> dict[str, object]:
    return {
        "wires": {
            one.wire: {
                "size_mm2": one.size_mm2,
                "amps": round(one.amps, 4),
                "ambient_c": one.ambient_c,
                "at": one.at or None,
                "alone_c": _tenth(one.alone_c),
                "after_c": None if one.after_c is None else _tenth(one.after_c),
                "peak_c": None if one.peak_c is None else _tenth(one.peak_c),
                "runs": {each.run: _tenth(each.copper_c) for each in one.runs},
                "copper_c": _tenth(one.copper_c),
                "where": one.where or None,
                "class_c": one.class_c,
                "too_hot": _is_too_hot(one),
            }
            for one in wires
        },
        "runs": {
            name: {
                "wires": each.wires,
                "ambient_c": each.ambient_c,
                "bundle_mm": _tenth(each.bundle_mm),
                "surface_c": _tenth(each.surface_c),
                "warmest": each.warmest or None,
                "copper_c": _tenth(each.copper_c),
                "left_out": list(each.left_out),
            }
            for name, each in found.runs.items()
            if not only
        },
        "left_out": {name: why for name, why in found.left_out.items() if not only or name in only},
        "typical": True,
    }


def _tenth(value: float | None) -> float | None:
    """To a tenth; null where it never settles."""
    return round(value, 1) if value is not None and isfinite(value) else None


def _show(found: Warm, wires: Sequence[WireHeat], only: frozenset[str]) -> None:
    carrying = [one for one in wires if one.amps >= _LEAST_A or one.wire in only]
    if carrying:
        _show_rows((_HEADINGS, *(_wire_row(one) for one in carrying)))
        show()
    runs = [each for each in found.runs.values() if each.warmest and not only]
    if runs:
        _show_rows((_RUN_HEADINGS, *(_run_row(each) for each in runs)))
        show()
    for one in wires:
        if _is_too_hot(one):
            show_hanging(f"FAULT   {one.wire}: {_says(one)}.", " " * 8)
    for name, why in found.left_out.items():
        if name in only:
            show_hanging(f"{name}: {why}.", "    ")
    if found.left_out and not only:
        names = list(found.left_out)
        rest = "" if len(names) <= 8 else f" and {len(names) - 8} more"
        show_hanging(f"Left out ({counted(len(names), 'wire')}): {' '.join(names[:8])}{rest}.", "    ")
    idle = len(wires) - len(carrying)
    show(f"{counted(len(carrying), 'wire')} carrying something, {idle} not. Still air; typical figures.")


def _wire_row(one: WireHeat) -> tuple[str, ...]:
    stands = "not known" if one.class_c is None else f"{one.class_c:g} °C"
    warmest = _degrees(one.copper_c) + (f" in {one.where}" if one.where else "")
    if one.after_c is not None:
        warmest += f", {_degrees(one.after_c)} by then"
    if one.peak_c is not None:
        warmest += f", coming and going {_degrees(one.peak_c)} at most by itself"
    air = f"{one.ambient_c:g} °C" + (f" {one.at}" if one.at else "")
    return (
        one.wire,
        with_unit(one.size_mm2, "mm2"),
        f"{for_print(one.amps, side='up')} A",
        air,
        _degrees(one.alone_c),
        warmest,
        stands,
    )


def _run_row(each: RunHeat) -> tuple[str, ...]:
    thick = "not known" if each.bundle_mm is None else f"about {for_print(each.bundle_mm, digits=2)} mm"
    warmest = f"{each.warmest} {_degrees(each.copper_c)}"
    return each.run, str(each.wires), thick, f"{each.ambient_c:g} °C", _degrees(each.surface_c), warmest


def _says(one: WireHeat) -> str:
    if one.peak_c is not None:
        hot = f"coming and going it reaches {_degrees(one.peak_c)} by itself"
        return f"{hot}, its insulation stands {one.class_c:g} °C. Thicker wire, or longer off between"
    where = f"among the others in {one.where}" if one.where else "by itself"
    if not isfinite(one.copper_c):
        hot = f"{where} it does not settle: the copper would melt"
    else:
        hot = f"{where} its copper reaches {_degrees(one.copper_c)}"
    return f"{hot}, its insulation stands {one.class_c:g} °C. Thicker wire, another run, or fewer loads at once"


def _degrees(at_c: float) -> str:
    return f"{for_print(at_c, side='up', digits=3)} °C" if isfinite(at_c) else "melts"


def _show_rows(rows: Sequence[tuple[str, ...]]) -> None:
    """Columns side by side, as wide as they need."""
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    for row in rows:
        show("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())
