"""`loomwright route`: which runs each wire follows, how long that makes it, what shares a run."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Collection, Iterator, Mapping, Sequence
from pathlib import Path

from loomwright.car import Car
from loomwright.cli.asking import add_job, known, open_car
from loomwright.cli.keeping import container_of, write_back
from loomwright.cli.printing import as_json, counted, show, show_hanging
from loomwright.findings import Finding, as_plain, says
from loomwright.job.decided import adopted, cut_wires
from loomwright.job.job import Job
from loomwright.quantities.printing import for_print, with_unit
from loomwright.routes.bundles import Bundle, bundles
from loomwright.routes.decisions import length_says, stale_lengths, with_lengths
from loomwright.routes.records import Stands, WireRoute

__all__ = ["HELP", "add_arguments", "run"]

HELP = "which runs each wire follows, how long that makes it, and what shares a run"
_DIGITS = 7
_ABOUT = 2
_MOST_NAMES = 8
_MARKS: Mapping[Stands, str] = {"blank": ", blank", "decided": ", decided", "typed": "", "built": ", as built"}
_NO_WAY = ("RTE-1", "RTE-3")
_HEADINGS = ("wire", "ends", "length", "route")


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument(
        "wires", nargs="*", metavar="WIRE", help="named right after the job: only these, each with its sum"
    )
    writing = parser.add_mutually_exclusive_group()
    writing.add_argument("--keep", action="store_true", help="keep lengths of blank cells with the job, as decisions")
    writing.add_argument("--adopt", action="store_true", help="write lengths of blank cells into the sheet wires")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    path = container_of(arguments.job) if arguments.keep or arguments.adopt else None
    car = open_car(arguments.job)
    there = {*car.routes.wires, *car.routes.unrouted}
    known("wire", arguments.wires, there)
    only = frozenset(arguments.wires)
    written: tuple[str, ...] = ()
    if path is not None:
        car, written = _written(car, path, only, adopt=arguments.adopt)
    findings = _findings(car, only)
    if arguments.json:
        as_json(_plain(car, only, findings) | _plain_written(path, written))
    else:
        _show(car, arguments.job, only, findings)
        if path is not None:
            how = "written into the sheet wires" if arguments.adopt else "kept as decisions"
            show(f"{counted(len(written), 'length')} {how} in {path}.")
    return 1 if any(finding.severity != "note" for finding in findings) else 0


def _written(car: Car, path: Path, only: frozenset[str], *, adopt: bool) -> tuple[Car, tuple[str, ...]]:
    """Keeps or adopts the lengths of blank cells and writes the job back; the car then, and whose lengths these are."""
    job = with_lengths(car.job, car.kinds, car.routes, only or None)
    cut, led = cut_wires(job), car.routes.wires
    mine = [one for one in job.decisions if (one.sheet, one.column) == ("wires", "length_mm") and one.row in led]
    decisions = [one for one in mine if one.row not in cut and (not only or one.row in only)]
    if adopt:
        job = adopted(job, decisions)
    if job != car.job:
        write_back(job, path)
    return Car(job, car.kinds), tuple(one.row for one in decisions)


def _findings(car: Car, only: frozenset[str]) -> tuple[Finding, ...]:
    found = car.route_findings()
    return tuple(one for one in found if not only or not only.isdisjoint((*one.at, *one.touches)))


def _lengths_mm(car: Car) -> dict[str, float]:
    """What each wire's length is: as built, as typed, as decided, else by its way. [mm]"""
    stands = {wire.id: wire.length_mm for wire in car.filled.wires}
    return {name: stands[name] or route.length_mm for name, route in car.routes.wires.items()}


# ------------------------------------------------------------------------ as JSON


def _plain(car: Car, only: frozenset[str], findings: Sequence[Finding]) -> dict[str, object]:
    routes, lengths_mm = car.routes, _lengths_mm(car)
    stale = frozenset(stale_lengths(car.job, car.kinds, routes))
    words = length_says(car.job, car.kinds, routes, only or routes.wires)
    return {
        "wires": {
            name: {
                "length_mm": lengths_mm[name],
                "by_route_mm": route.length_mm,
                "stands": route.stands,
                "stale": name in stale,
                "runs": list(route.runs),
                "places": list(route.places),
                "along_mm": route.along_mm,
                "near_mm": route.near_mm,
                "twisted_mm": round(route.twisted_mm, 1),
                "ends_mm": route.ends_mm,
                "follows": route.follows or None,
                "says": words[name],
            }
            for name, route in routes.wires.items()
            if not only or name in only
        },
        "unrouted": {
            name: {"cause": one.cause, "why": one.why, "mend": one.mend}
            for name, one in routes.unrouted.items()
            if not only or name in only
        },
        "runs": {name: _plain_run(car.job, bundle) for name, bundle in _bundles(car, only).items()},
        "findings": [as_plain(finding) for finding in findings],
    }


def _plain_run(job: Job, bundle: Bundle) -> dict[str, object]:
    row = next(run for run in job.runs if run.id == bundle.run)
    return {
        "from": row.from_,
        "to": row.to,
        "conductors": list(bundle.conductors),
        "bundle_mm": _tenth(bundle.bundle_mm),
        "bundle_least_mm": _tenth(bundle.least_mm),
        "bundle_most_mm": _tenth(bundle.most_mm),
        "typical": True,
        "thinnest": list(bundle.thinnest),
        "unknown": list(bundle.unknown),
        "covering": bundle.covering,
    }


def _plain_written(path: Path | None, written: Sequence[str]) -> dict[str, object]:
    return {} if path is None else {"written": str(path), "lengths": list(written)}


def _tenth(length_mm: float | None) -> float | None:
    return None if length_mm is None else round(length_mm, 1)


def _bundles(car: Car, only: frozenset[str]) -> dict[str, Bundle]:
    """The bundles of all runs, or of those that some wires follow."""
    found = bundles(car.job, car.routes)
    return {name: one for name, one in found.items() if not only or not only.isdisjoint(one.conductors)}


# ------------------------------------------------------------------------ as words


def _show(car: Car, name: str, only: frozenset[str], findings: Sequence[Finding]) -> None:
    if only:
        for wire in sorted(only & car.routes.wires.keys(), key=list(car.routes.wires).index):
            _show_one(car, car.routes.wires[wire])
    else:
        _show_table(car)
    for finding in findings:
        show_hanging(f"{finding.severity.upper():8}{finding.rule:7}{says(finding)}", " " * 15)
    led_nowhere = [finding for finding in findings if finding.rule in _NO_WAY]
    told = {place for finding in led_nowhere for place in (*finding.at, *finding.touches)}
    for line in _not_led(car, only, told):
        show_hanging(line, "    ")
    if not only:
        _show_sum(car, name)


def _show_one(car: Car, route: WireRoute) -> None:
    row = next(wire for wire in car.job.wires if wire.id == route.wire)
    show_hanging(f"{route.wire} ({row.from_} to {row.to}): {_way(route)}.", "    ")
    show_hanging(f"    {length_says(car.job, car.kinds, car.routes, [route.wire])[route.wire]}.", "    ")
    length_mm = with_unit(_lengths_mm(car)[route.wire], "mm", digits=_DIGITS)
    stands = {
        "blank": f"Its cell is blank; by its route it is {length_mm} long.",
        "decided": f"Its cell is blank; {length_mm} was decided and kept.",
        "typed": f"The sheet says {length_mm}.",
        "built": f"It was cut {length_mm} long.",
    }[route.stands]
    if route.wire in stale_lengths(car.job, car.kinds, car.routes):
        by_route = with_unit(route.length_mm, "mm", digits=_DIGITS)
        stands += f" The rows that rests on have changed: now it is {by_route}, and --keep keeps that."
    beside = f" It lies beside {route.follows} all the way." if route.follows else ""
    show_hanging(f"    {stands}{beside}", "    ")


def _show_table(car: Car) -> None:
    lengths_mm = _lengths_mm(car)
    wires = {wire.id: wire for wire in car.job.wires}
    rows = [
        (
            name,
            f"{wires[name].from_} to {wires[name].to}",
            with_unit(lengths_mm[name], "mm", digits=_DIGITS) + _MARKS[route.stands],
            " ".join(route.runs) or f"within {route.places[0]}",
        )
        for name, route in car.routes.wires.items()
    ]
    _show_rows((_HEADINGS, *rows) if rows else ())
    found = bundles(car.job, car.routes)
    if found:
        show()
        _show_rows((("run", "covering", "wires", "bundle"), *(_run_row(bundle) for bundle in found.values())))
        show("Bundle: about, between packed tight and laid loosely; typical, without covering.")
    show()


def _run_row(bundle: Bundle) -> tuple[str, str, str, str]:
    if bundle.bundle_mm is None or bundle.least_mm is None or bundle.most_mm is None:
        thick = f"not known: no table has the size of {' '.join(bundle.unknown)}" if bundle.unknown else "–"
    else:
        thick = with_unit(bundle.bundle_mm, "mm", digits=_ABOUT)
        if bundle.least_mm != bundle.most_mm:
            least, most = for_print(bundle.least_mm, digits=_ABOUT), for_print(bundle.most_mm, digits=_ABOUT)
            thick += f" ({least} to {most})"
    if bundle.thinnest:
        thick += f", {_listed(bundle.thinnest)} taken as the thinnest of the class"
    return bundle.run, bundle.covering or "–", str(len(bundle.conductors)), thick


def _show_rows(rows: Sequence[tuple[str, ...]]) -> None:
    """Columns side by side, as wide as they need."""
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    for row in rows:
        show("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())


def _not_led(car: Car, only: frozenset[str], told: Collection[str]) -> Iterator[str]:
    """Wires that no finding names and that have no way, those that lack the same thing together."""
    by_cause: dict[tuple[str, str], list[str]] = {}
    for name, one in car.routes.unrouted.items():
        if name not in told and (not only or name in only):
            by_cause.setdefault((one.why, one.mend), []).append(name)
    for (why, mend), names in by_cause.items():
        yield f"Not routed: {_listed(names)} ({counted(len(names), 'wire')}): {why}. {mend}."


def _show_sum(car: Car, name: str) -> None:
    blank = sum(route.stands == "blank" for route in car.routes.wires.values())
    stale = stale_lengths(car.job, car.kinds, car.routes)
    led = f"{counted(len(car.routes.wires), 'wire')} routed, {len(car.routes.unrouted)} not"
    open_cells = f"; {counted(blank, 'length')} blank" if blank else "; no length is blank"
    show(f"{led}{open_cells}." + (f" loomwright route {name} --keep keeps them with the job." if blank else ""))
    if stale:
        show(f"Kept lengths that rest on rows which have changed: {_listed(stale)}; --keep works them out anew.")


def _way(route: WireRoute) -> str:
    """The way as places and runs by turns."""
    words = [route.places[0]]
    for run_id, place in zip(route.runs, route.places[1:], strict=True):
        words += [run_id, place]
    return " – ".join(words) if route.runs else f"within {route.places[0]}"


def _listed(names: Sequence[str]) -> str:
    more = len(names) - _MOST_NAMES
    return " ".join(names[:_MOST_NAMES]) + (f" and {more} more" if more > 0 else "")
