"""`loomwright cut`: which piece comes off which reel, what is crimped on, what is to be ordered."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Sequence

from loomwright.cli.asking import add_job, open_car
from loomwright.cli.printing import as_json, counted, show, show_hanging
from loomwright.loom.bench_list import BenchList, CrimpLine, StockedWire
from loomwright.quantities.printing import for_print, with_unit

__all__ = ["HELP", "add_arguments", "run"]

HELP = "which piece of wire comes off which reel, what is crimped on, what is to be ordered"

_LONG = 5
_CRIMP_HEADINGS = ("terminal", "size", "how many", "strip", "die", "seal", "pull")


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code: 1 where something is to be ordered or does not fit."""
    found = open_car(arguments.job).bench_list()
    if arguments.json:
        as_json(_plain(found))
    else:
        _show(found)
    return 1 if found.order or any(line.told for line in found.crimps) else 0


def _plain(found: BenchList) -> dict[str, object]:
    return {
        "wires": [_plain_wire(one) for one in found.wires],
        "crimps": [
            {
                "terminal": line.terminal,
                "size_mm2": line.size_mm2,
                "seal": line.seal or None,
                "count": line.count,
                "ends": list(line.ends),
                "strip_mm": line.strip_mm,
                "die": line.die or None,
                "pull_n": None if line.pull_n is None else round(line.pull_n, 1),
                "pull_source": line.pull_source or None,
                "told": list(line.told),
                "barrel": line.barrel or None,
                "proposed": line.is_proposed,
                "proposed_seal": line.proposed_seal or None,
                "source": line.source or None,
            }
            for line in found.crimps
        ],
        "cables": [
            {"id": one.id, "kind": one.kind or None, "cut_mm": one.cut_mm, "wires": list(one.wires), "done": one.done}
            for one in found.cuts.cables
        ],
        "twists": [{"id": one.id, "cut_mm": one.cut_mm, "wires": list(one.wires)} for one in found.cuts.twists],
        "order": [
            {"item": line.item, "amount": line.amount, "per": line.per, "mend": line.mend} for line in found.order
        ],
        "copper_g": round(found.copper_g, 1),
        "allowance_mm": found.cuts.allowance_mm,
        "unmeasured": list(found.unmeasured),
        "open_ends": [{"at": one.at, "ends": list(one.ends)} for one in found.open_ends],
    }


def _plain_wire(one: StockedWire) -> dict[str, object]:
    plan = one.plan
    return {
        "size_mm2": one.reel.size_mm2,
        "colour": one.reel.colour or None,
        "insulation": one.reel.insulation or None,
        "needed_m": round(one.reel.needed_m, 3),
        "reels": [
            {
                "reel": use.number + 1,
                "held_m": use.held_m,
                "left_m": round(use.left_m, 3),
                "pieces": [{"wire": piece.wire, "cut_m": round(piece.cut_m, 3)} for piece in use.pieces],
            }
            for use in plan.uses
        ],
        "without": [{"wire": piece.wire, "cut_m": round(piece.cut_m, 3)} for piece in plan.without],
        "short_m": round(plan.short_m, 3),
        "least_short_m": round(plan.least_short_m, 3),
        "opened": plan.opened,
        "least_opened": plan.least_opened,
        "proved_best": plan.is_best,
        "copper_g": None if one.copper_g is None else round(one.copper_g, 1),
        "price": None if one.price is None else round(one.price, 2),
    }


def _show(found: BenchList) -> None:
    for one in found.wires:
        _show_wire(one)
    for words, groups in (("Cable", found.cuts.cables), ("Twisted", found.cuts.twists)):
        for group in groups:
            known = group.cut_mm is not None
            length = with_unit(group.cut_mm or 0.0, "mm", side="up", digits=_LONG) if known else "its length is open"
            name = " ".join(word for word in (words, group.id, getattr(group, "kind", "")) if word)
            show_hanging(f"{name}: {length}, {' '.join(group.wires)}.", "    ")
    if found.crimps:
        show()
        _show_rows((_CRIMP_HEADINGS, *(_crimp_row(line) for line in found.crimps)))
        if any(line.is_proposed or line.proposed_seal for line in found.crimps):
            show("? nobody named it: proposed by its place, typical.")
        for line in found.crimps:
            for text in line.told:
                show_hanging(f"{line.terminal} ({' '.join(line.ends[:_LONG])}): {text}.", "    ")
    show()
    if found.order:
        show("To be ordered:")
        for each in found.order:
            amount = f"{each.amount} {each.per}" if each.amount else "open"
            show_hanging(f"    {each.item}: {amount} ({each.mend})", "        ")
    else:
        show("The stock sheet holds all of it.")
    if found.unmeasured:
        names = " ".join(found.unmeasured)
        show_hanging(f"Without a length: {names}. loomwright route tells why.", "    ")
    pieces = sum(len(one.reel.cuts) for one in found.wires)
    proved = sum(one.plan.is_best for one in found.wires)
    allowance = with_unit(found.cuts.allowance_mm, "mm")
    show(
        f"{counted(pieces, 'piece')}, {allowance} in each for another try; "
        f"{for_print(found.copper_g, side='up')} g of copper. "
        f"No plan is better for {proved} of {counted(len(found.wires), 'kind')} of wire."
    )


def _show_wire(one: StockedWire) -> None:
    reel, plan = one.reel, one.plan
    size = "size not decided" if reel.size_mm2 is None else with_unit(reel.size_mm2, "mm2")
    name = " ".join(word for word in (size, reel.colour, reel.insulation) if word)
    needed = with_unit(reel.needed_m, "m", side="up", digits=_LONG)
    show_hanging(f"{name}: {counted(len(reel.cuts), 'piece')}, {needed}.", "    ")
    for use in plan.uses:
        pieces = ", ".join(f"{piece.wire} {piece.cut_m:.2f}" for piece in use.pieces)
        show_hanging(f"    reel {use.number + 1} of {use.held_m:g} m: {pieces}; {use.left_m:.2f} m left.", "        ")
    if plan.without:
        pieces = ", ".join(f"{piece.wire} {piece.cut_m:.2f}" for piece in plan.without)
        best = f", a better plan might be short by {plan.least_short_m:.2f} m"
        told = best if plan.short_m > plan.least_short_m + 1e-9 else ""
        show_hanging(f"    on no reel: {pieces}; {plan.short_m:.2f} m short{told}.", "        ")
    if plan.opened > plan.least_opened:
        show(f"    {counted(plan.opened, 'reel')} cut from; {plan.least_opened} might do.")


def _crimp_row(line: CrimpLine) -> tuple[str, ...]:
    pull = "–" if line.pull_n is None else f"{for_print(line.pull_n, side='up')} N"
    return (
        f"{line.terminal}?" if line.is_proposed else line.terminal,
        "–" if line.size_mm2 is None else with_unit(line.size_mm2, "mm2"),
        str(line.count),
        "–" if line.strip_mm is None else with_unit(line.strip_mm, "mm"),
        line.die or "–",
        line.seal or (f"{line.proposed_seal}?" if line.proposed_seal else "–"),
        pull,
    )


def _show_rows(rows: Sequence[tuple[str, ...]]) -> None:
    """Columns side by side, as wide as they need."""
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    for row in rows:
        show("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())
