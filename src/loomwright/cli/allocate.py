"""`loomwright allocate`: a controller pin for every need, and why; where not all fit, what is in the way."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Sequence

from loomwright.allocation.allocated import Allocation
from loomwright.allocation.pin_decisions import with_pins, with_pins_typed
from loomwright.allocation.pin_puzzle import GOALS
from loomwright.allocation.wanting import wanted_says
from loomwright.allocation.way_records import WayCost, WayOut, in_all_of
from loomwright.car import Car
from loomwright.cli.asking import add_job, open_car
from loomwright.cli.keeping import container_of, write_back
from loomwright.cli.printing import as_json, counted, show, show_hanging
from loomwright.cli.telling import telling
from loomwright.quantities.printing import for_print
from loomwright.refusals import OutOfReach
from loomwright.tables.kinds import load_abilities

__all__ = ["HELP", "add_arguments", "allocated_plain", "run"]

HELP = "a controller pin for every need, and why; where not all fit, what is in the way and ways out"
_GAP = " " * 4


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument("--way", type=int, metavar="N", help="the job after way out N, and its pins")
    parser.add_argument("--reasons", action="store_true", help="with each pin what else could take the need")
    writing = parser.add_mutually_exclusive_group()
    writing.add_argument("--keep", action="store_true", help="keep pins of blank cells with the job, as decisions")
    writing.add_argument(
        "--adopt", action="store_true", help="write pins into the sheet needs, and add the wires that are missing"
    )


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    path = container_of(arguments.job) if arguments.keep or arguments.adopt else None
    car = open_car(arguments.job)
    shown = telling("steps")
    allocation = car.allocated(shown)
    if arguments.way is not None:
        car = Car(_way(allocation, arguments.way).applied(car.job))
        allocation = car.allocated(shown)
    if path is not None:
        job = (with_pins_typed if arguments.adopt else with_pins)(allocation)
        if job != allocation.job or arguments.way is not None:
            write_back(job, path)
    if arguments.json:
        as_json(allocated_plain(allocation) | ({} if path is None else {"written": str(path)}))
    else:
        _show(allocation, arguments.job, reasons=arguments.reasons)
        if path is not None:
            how = "written into the sheet needs" if arguments.adopt else "kept as decisions"
            show(f"{counted(len(allocation.pins), 'pin')} {how} in {path}.")
    return 0 if allocation.status == "fits" else 1


def _way(allocation: Allocation, number: int) -> WayOut:
    if not 1 <= number <= len(allocation.ways_out):
        found = f"1 to {len(allocation.ways_out)}" if allocation.ways_out else "none, since everything fits"
        raise OutOfReach("way out", number, found if allocation.status == "does not fit" else "none: everything fits")
    return allocation.ways_out[number - 1]


# ------------------------------------------------------------------------ as JSON


def allocated_plain(allocation: Allocation) -> dict[str, object]:
    """The answer as plain lists and words, in the shape that `--json` prints."""
    return {
        "status": allocation.status,
        "proved": allocation.proved,
        "pins": dict(allocation.points),
        "options": dict(allocation.options),
        "left_out": list(allocation.left_out),
        "conflict": [
            {
                "needs": list(one.needs),
                "pins": list(one.pins),
                "blamed": list(one.blamed),
                "likewise": list(one.likewise),
                "says": one.says,
            }
            for one in allocation.conflicts
        ],
        "ways_out": [_plain_way(way) for way in allocation.ways_out],
        "wanted": dict(allocation.wanted),
        "reasons": {
            need: {
                "by": why.by,
                "says": why.says,
                "others": [
                    {"pins": list(one.pins), "possible": one.is_possible, "says": one.says} for one in why.others
                ],
            }
            for need, why in allocation.why.items()
        },
        "goals": [{"goal": one.name, "cost": one.cost, "proved": one.proved} for one in allocation.goals],
        "spares": {one.ability: {"pins": list(one.pins), "of": one.of} for one in allocation.spares},
        "moved": [
            {"need": one.need, "before": one.before, "now": one.now, "built": one.built, "says": one.says}
            for one in allocation.moved
        ],
        "wires": [{"id": one.id, "circuit": one.circuit, "from": one.from_} for one in allocation.wires],
        "notes": list(allocation.notes),
    }


def _plain_way(way: WayOut) -> dict[str, object]:
    return {
        "change": way.says,
        "changes": [
            {"kind": one.kind, "needs": list(one.needs), "pin": one.pin or None, "says": one.says}
            for one in way.changes
        ],
        "cost": {
            "pins": way.cost.pins,
            "wires": way.cost.wires,
            "parts": list(way.cost.parts),
            "minutes": round(way.cost.minutes, 1),
            "price": way.cost.price,
            "currency": way.cost.currency,
            "unpriced": list(way.cost.unpriced),
        },
        "loses": list(way.loses),
        "pins": dict(way.pins),
    }


# ------------------------------------------------------------------------ as words


def _show(allocation: Allocation, name: str, *, reasons: bool) -> None:
    width = max((len(need) for need in allocation.pins), default=0)
    across = max((len(point) for point in allocation.points.values()), default=0)
    for need, point in allocation.points.items():
        why = allocation.why[need]
        show_hanging(f"{need.ljust(width)}  {point.ljust(across)}  {why.says}.", " " * (width + across + 4))
        for other in why.others if reasons else ():
            show_hanging(f"{_GAP}{other.says}.", _GAP * 2)
    show()
    for group, alternative in allocation.options.items():
        show(f"Option {group}: {alternative} is built.")
    for moved in allocation.moved:
        show_hanging(f"{moved.says}.", _GAP)
    _show_spares(allocation)
    for wire in allocation.wires:
        show(f"No wire leads from {wire.from_} to its pin: --adopt adds {wire.id}.")
    for note in allocation.notes:
        show_hanging(f"{note}.", _GAP)
    _show_sum(allocation)
    for number, conflict in enumerate(allocation.conflicts, 1):
        show()
        show_hanging(f"{number}. {conflict.says}", _GAP)
    if allocation.ways_out:
        show()
        show("Ways out, what gives up least first, then the cheapest:")
    in_all = in_all_of(allocation.ways_out)
    if in_all.changes:
        show_hanging(f"In every way: {'; '.join(in_all.changes)}.", _GAP)
        if in_all.loses:
            show_hanging(f"{_GAP}Lost in every way: {'; '.join(in_all.loses)}.", _GAP * 2)
        show("Beside that:")
    for number, way in enumerate(allocation.ways_out, 1):
        changes, loses = in_all.beside(way)
        says = "; ".join(changes) if in_all.changes else way.says
        show_hanging(f"{number}. {says}: {cost_says(way.cost)}. {_loses(loses, in_all.loses)}.", _GAP)
    if allocation.wanted:
        show_hanging(f"{wanted_says(allocation.wanted)}.", _GAP)
    if allocation.ways_out:
        show(f"loomwright allocate {name} --way 1 shows the job after the first of them.")


def _show_spares(allocation: Allocation) -> None:
    spare = [one for one in allocation.spares if one.pins]
    none = [one.ability for one in allocation.spares if not one.pins]
    if spare:
        show("Left over (one pin may stand in several rows):")
    for one in spare:
        title = load_abilities()[one.ability].title
        show(f"{_GAP}{len(one.pins)} of {one.of} {one.ability} ({title}): {' '.join(one.pins)}")
    if none:
        show_hanging(f"{_GAP}none of {' '.join(none)}", _GAP * 2)


def _show_sum(allocation: Allocation) -> None:
    if allocation.status == "fits":
        lead = f"{counted(len(allocation.pins), 'need has', 'needs have')} a pin each."
    else:
        lead = f"Does not fit: left out are {', '.join(allocation.left_out)}."
    if allocation.proved:
        show_hanging(f"{lead} No answer is better, asked in this order: {', '.join(GOALS.values())}.", _GAP)
    else:
        proved = [GOALS[one.name] for one in allocation.goals if one.proved]
        show_hanging(
            f"{lead} Stopped: the best found so far; proved are {', '.join(proved) or 'none of its goals'}.", _GAP
        )


def cost_says(cost: WayCost) -> str:
    """What a way out costs, in words."""
    pieces = [
        f"{for_print(cost.minutes, side='up')} min",
        *([f"{-cost.pins} pins fewer" if cost.pins < -1 else "1 pin fewer"] if cost.pins < 0 else []),
        *([counted(cost.wires, "more wire", "more wires")] if cost.wires > 0 else []),
        *([counted(-cost.wires, "wire fewer", "wires fewer")] if cost.wires < 0 else []),
        *(f"{cost.parts.count(part)} × {part}" for part in dict.fromkeys(cost.parts)),
    ]
    if cost.price is not None:
        without = f", without {' and '.join(cost.unpriced)}" if cost.unpriced else ""
        pieces.append(f"{cost.price:.2f} {cost.currency}".rstrip() + without)
    elif cost.unpriced:
        pieces.append("prices not known")
    return ", ".join(pieces)


def _loses(own: Sequence[str], in_all: Sequence[str]) -> str:
    if own:
        return f"{'Lost besides' if in_all else 'Lost'}: {'; '.join(own)}"
    return "Nothing else is lost" if in_all else "Nothing is lost"
