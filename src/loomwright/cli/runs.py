"""`loomwright runs`: what lies in each run, how thick it is covered, whether it goes through its hole, how it bends."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Mapping, Sequence

from loomwright.cli.asking import add_job, add_state, known, open_car, state_of
from loomwright.cli.printing import as_json, counted, show, show_hanging
from loomwright.heat.in_runs import RunHeat
from loomwright.loom.end_crimps import EndCrimp
from loomwright.loom.run_sheet import RunSheet
from loomwright.quantities.printing import for_print

__all__ = ["HELP", "add_arguments", "run"]

HELP = "what lies in each run, how thick it is with its sleeve, whether it goes through its hole, how tight it bends"

_HEADINGS = ("run", "wires", "packed", "by hand", "covered", "hole", "bend", "held", "covering", "warmest")
_MOST = 10


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument("runs", nargs="*", metavar="RUN", help="named right after the job: only these")
    add_state(parser)


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code: 1 where a hole is too small."""
    car = open_car(arguments.job)
    known("run", arguments.runs, {row.id for row in car.job.runs})
    found = car.run_sheets(frozenset(arguments.runs) or None)
    asked = bool(arguments.state.strip())
    heat = car.heat(state_of(arguments.state)).runs if asked else {}
    if arguments.json:
        as_json({"runs": {name: _plain(one, heat.get(name)) for name, one in found.items()}, "typical": True})
    else:
        _show(found, heat, few=bool(arguments.runs))
    return 1 if any(one.is_hole_too_small for one in found.values()) else 0


def _plain(one: RunSheet, heat: RunHeat | None) -> dict[str, object]:
    return {
        "conductors": list(one.conductors),
        "packed_mm": _tenth(one.packed_mm),
        "by_hand_mm": _tenth(one.by_hand_mm),
        "covering": one.covering or None,
        "covering_kind": one.covering_kind or None,
        "covered_mm": _tenth(one.covered_mm),
        "hole_mm": one.hole_mm,
        "needed_mm": _tenth(one.needed_mm),
        "hole_too_small": one.is_hole_too_small,
        "bend_mm": _tenth(one.bend_mm),
        "bend_held_mm": _tenth(one.bend_held_mm),
        "breakouts": {each.place: list(each.wires) for each in one.breakouts},
        "unknown": list(one.unknown),
        "crimps": [
            {
                "wire": each.wire,
                "end": each.end,
                "terminal": each.terminal,
                "strip_mm": each.strip_mm,
                "die": each.die or None,
                "seal": each.seal or each.proposed_seal or None,
                "pull_n": _tenth(each.pull_n),
            }
            for each in one.crimps
        ],
        "warmest": None if heat is None else (heat.warmest or None),
        "warmest_c": None if heat is None or not heat.copper_c < float("inf") else round(heat.copper_c, 1),
    }


def _tenth(length_mm: float | None) -> float | None:
    return None if length_mm is None else round(length_mm, 1)


def _show(found: Mapping[str, RunSheet], heat: Mapping[str, RunHeat], *, few: bool) -> None:
    rows = [_row(one, heat.get(name)) for name, one in found.items()]
    if rows:
        _show_rows((_HEADINGS if heat else _HEADINGS[:-1], *(row if heat else row[:-1] for row in rows)))
        show()
    for one in found.values():
        if one.is_hole_too_small and one.needed_mm is not None:
            show_hanging(
                f"{one.run}: its hole has {one.hole_mm:g} mm, what goes through needs {one.needed_mm:.0f} mm. "
                "A larger hole, thinner covering, or some of its wires another way (via).",
                "    ",
            )
        if few:
            for each in one.breakouts:
                show_hanging(f"{one.run} at {each.place}: {_names(each.wires)} leave the others.", "    ")
            for crimp in one.crimps:
                show_hanging(f"{one.run}: {_crimp(crimp)}.", "    ")
        if one.unknown:
            show_hanging(f"{one.run}: thickness not known, no table has {_names(one.unknown)}.", "    ")
        if one.covering and not one.covering_kind:
            show_hanging(f"{one.run}: nobody knows what {one.covering} adds; taken as nothing.", "    ")
    show(f"{counted(len(found), 'run')}. Packed: as tight as was found; all else typical.")


def _crimp(one: EndCrimp) -> str:
    """One crimp of a run, as it is made."""
    size = "" if one.size_mm2 is None else f" on {one.size_mm2:g} mm²"
    strip = "" if one.strip_mm is None else f", strip {one.strip_mm:g} mm"
    die = f", die {one.die}" if one.die else ""
    seal = f", {one.seal or one.proposed_seal} on first" if one.seal or one.proposed_seal else ""
    return f"{one.wire} at {one.point}: {one.terminal}{size}{strip}{die}{seal}"


def _names(names: Sequence[str]) -> str:
    more = len(names) - _MOST
    return " ".join(names[:_MOST]) + (f" and {more} more" if more > 0 else "")


def _row(one: RunSheet, heat: RunHeat | None) -> tuple[str, ...]:
    hole = "–" if one.hole_mm is None else f"{one.hole_mm:g} mm"
    if one.hole_mm is not None and one.needed_mm is not None:
        hole += ", too small" if one.is_hole_too_small else ", goes through"
    warm = "–"
    if heat is not None and heat.warmest:
        warm = f"{heat.warmest} {for_print(heat.copper_c, side='up', digits=3)} °C"
    return (
        one.run,
        str(len(one.conductors)),
        _mm(one.packed_mm),
        _mm(one.by_hand_mm),
        _mm(one.covered_mm),
        hole,
        _mm(one.bend_mm),
        _mm(one.bend_held_mm),
        one.covering or "–",
        warm,
    )


def _mm(length_mm: float | None) -> str:
    return "–" if length_mm is None else f"{for_print(length_mm, side='up', digits=3)} mm"


def _show_rows(rows: Sequence[tuple[str, ...]]) -> None:
    """Columns side by side, as wide as they need."""
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    for row in rows:
        show("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())
