"""`loomwright size`: a size for every blank wire and a rating for every blank fuse, and which limit ruled."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from pathlib import Path

from loomwright.car import Car
from loomwright.cli.asking import add_job, open_car
from loomwright.cli.keeping import container_of, write_back
from loomwright.cli.printing import as_json, counted, show, show_hanging
from loomwright.cli.telling import telling
from loomwright.findings import id_order, when_text
from loomwright.network.arrays import type_i
from loomwright.quantities.printing import for_print, with_unit, without_dust
from loomwright.sizing.decisions import kept, written
from loomwright.sizing.size_says import fuse_says, wire_says
from loomwright.sizing.sized import Ask, Sized, SizedFuse, SizedWire
from loomwright.sizing.unsettled import alike

__all__ = ["HELP", "NOT_LOOKED_AT", "add_arguments", "run", "sized_plain"]

HELP = "a size for every blank wire and a rating for every blank fuse, and which limit ruled"

NOT_LOOKED_AT = (
    "Not looked at for a size: wires warming each other in a bundle (heat tells), shorts through a resistance (faults "
    "tells), whether the small fuse opens before the large one, voltage spikes, terminals that are in no table."
)
"""What no size was held against."""

_DIGITS = 7
_HEADINGS = ("wire", "length", "worst", "size", "by", "drop", "warm", "in")
_FUSE_HEADINGS = ("fuse", "worst", "rating", "by", "why")


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    writing = parser.add_mutually_exclusive_group()
    writing.add_argument(
        "--keep", action="store_true", help="keep what is decided for blank cells with the job, as decisions"
    )
    writing.add_argument("--adopt", action="store_true", help="write what is decided for blank cells into them")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    path = container_of(arguments.job) if arguments.keep or arguments.adopt else None
    car = open_car(arguments.job)
    sized = car.sized(telling("steps"))
    if path is not None:
        _write(car, sized, path, adopt=arguments.adopt)
    if arguments.json:
        as_json(sized_plain(sized) | ({} if path is None else {"written": str(path)}))
    else:
        _show(car, sized, arguments.job)
        if path is not None:
            how = "written into their cells" if arguments.adopt else "kept as decisions"
            show(f"{_decided(sized)} {how} in {path}, with the lengths they rest on.")
    return 1 if sized.unsettled else 0


def _write(car: Car, sized: Sized, path: Path, *, adopt: bool) -> None:
    """Keeps or adopts what was decided and writes the job back."""
    changed = (written if adopt else kept)(car.job, car.kinds, car.routes, sized)
    if changed != car.job:
        write_back(changed, path)


# ------------------------------------------------------------------------ as JSON


def sized_plain(sized: Sized) -> dict[str, object]:
    """Sizes and ratings as plain lists and words, in the shape that `--json` prints."""
    return {
        "wires": {name: _plain_wire(sized, sized.wires[name]) for name in sorted(sized.wires, key=id_order)},
        "fuses": {name: _plain_fuse(sized, sized.fuses[name]) for name in sorted(sized.fuses, key=id_order)},
        "copper_g": round(sized.copper_g, 1),
        "proved": sized.proved,
        "solved": sized.solved,
        "unsettled": [{"cell": one.cell, "why": one.why, "mend": one.mend} for one in sized.unsettled],
    }


def _plain_wire(sized: Sized, wire: SizedWire) -> dict[str, object]:
    return {
        "size_mm2": wire.size_mm2,
        "decided_by": wire.decided_by,
        "conductor_c": _round(wire.conductor_c, 1),
        "drop_v": _round(wire.drop_v, 4),
        "amps": _round(wire.amps, 3),
        "length_mm": wire.length_mm,
        "length_by": wire.length_by or None,
        "insulation_c": wire.insulation_c,
        "ambient_c": wire.ambient_c,
        "when": sized.state_of(wire.values),
        "every_state": wire.every_state,
        "at_most_a": _round(wire.at_most_a, 3),
        "asks": {ask.limit: ask.asks for ask in wire.asks},
        "says": {ask.limit: wire_says(wire, ask) for ask in wire.asks},
    }


def _plain_fuse(sized: Sized, fuse: SizedFuse) -> dict[str, object]:
    return {
        "rating_a": fuse.rating_a,
        "decided_by": fuse.decided_by,
        "family": fuse.family,
        "amps": _round(fuse.amps, 3),
        "when": sized.state_of(fuse.values),
        "every_state": fuse.every_state,
        "at_most_a": _round(fuse.at_most_a, 3),
        "asks": {ask.limit: ask.asks for ask in fuse.asks},
        "says": {ask.limit: fuse_says(fuse, ask) for ask in fuse.asks},
    }


def _round(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits) + 0.0


# ------------------------------------------------------------------------ as words


def _show(car: Car, sized: Sized, name: str) -> None:
    wires = [sized.wires[one] for one in sorted(sized.sizes_mm2(), key=id_order)]
    fuses = [sized.fuses[one] for one in sorted(sized.ratings_a(), key=id_order)]
    if wires:
        _show_rows((_HEADINGS, *(_wire_row(sized, wire) for wire in wires)))
        show()
        for wire in wires:
            show_hanging(f"{wire.wire}: {_ruled(wire)}.", "    ")
        show()
    if fuses:
        _show_rows((_FUSE_HEADINGS, *(_fuse_row(fuse) for fuse in fuses)))
        show()
    for cells, one in alike(sized.unsettled):
        show_hanging(f"{cells}: {one.why}. {one.mend}.", "    ")
    if sized.unsettled:
        show()
    _show_sum(car, sized, name)


def _wire_row(sized: Sized, wire: SizedWire) -> tuple[str, ...]:
    length = "–" if wire.length_mm is None else with_unit(wire.length_mm, "mm", digits=_DIGITS)
    by = "" if wire.length_by in ("typed", "built") else f" ({wire.length_by})"
    return (
        wire.wire,
        length + by,
        f"{for_print(without_dust(wire.amps), side='up')} A",
        "–" if wire.size_mm2 is None else with_unit(wire.size_mm2, "mm2"),
        wire.decided_by,
        f"{for_print(without_dust(wire.drop_v), side='up', digits=2)} V",
        "–" if wire.conductor_c is None else f"{for_print(wire.conductor_c, side='up', digits=3)} °C",
        _state(sized, wire.values),
    )


def _fuse_row(fuse: SizedFuse) -> tuple[str, ...]:
    rating = "–" if fuse.rating_a is None else f"{for_print(fuse.rating_a)} A"
    ask = next((one for one in fuse.asks if one.limit == fuse.decided_by), None)
    says = "" if ask is None else fuse_says(fuse, ask)
    return fuse.part, f"{for_print(without_dust(fuse.amps), side='up')} A", rating, fuse.decided_by, says


def _ruled(wire: SizedWire) -> str:
    """The sentence of the limit that ruled, and what the others would have done with."""
    ask = next((one for one in wire.asks if one.limit == wire.decided_by), None)
    said = "" if ask is None else f", {wire_says(wire, ask)}"
    others = ", ".join(f"{one.limit} {_mm2(one.asks)}" for one in wire.asks if one is not ask and _counts(one))
    return f"{wire.decided_by}{said}" + (f" ({others})" if others else "")


def _counts(ask: Ask) -> bool:
    return ask.asks is not None


def _mm2(size_mm2: float | None) -> str:
    return "nothing" if size_mm2 is None else with_unit(size_mm2, "mm2")


def _state(sized: Sized, values: type_i | None) -> str:
    return when_text(tuple(sized.state_of(values).items()))


def _show_rows(rows: Sequence[tuple[str, ...]]) -> None:
    """Columns side by side, as wide as they need."""
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    for row in rows:
        show("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())


def _decided(sized: Sized) -> str:
    sizes, ratings = len(sized.sizes_mm2()), len(sized.ratings_a())
    return f"{counted(sizes, 'size')} and {counted(ratings, 'rating')}"


def _show_sum(car: Car, sized: Sized, name: str) -> None:
    if not sized.decided:
        show("No size and no rating is blank.")
    else:
        show(f"{_decided(sized)} decided over {counted(sized.solved, 'solved state')}. {_proof(sized)}")
    show(f"Copper of all new wires whose size and length are known: {for_print(sized.copper_g, side='up')} g.")
    if sized.decided and not car.job.decisions:
        show(f"loomwright size {name} --keep keeps them with the job; loomwright why {name} WIRE.size_mm2 tells one.")
    show_hanging(NOT_LOOKED_AT, "    ")


def _proof(sized: Sized) -> str:
    if sized.proved:
        return "No choice that keeps every limit has less copper."
    return "No wire, and no two on one way, can be thinner."
