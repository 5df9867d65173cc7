"""Join a free end to the terminal that misses it, and take a need's wire to its own pin from where it ends now."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings import Finding
from loomwright.job.points import split_point
from loomwright.job.rows import Wire
from loomwright.job.wire_ends import ENDS, other_end, point_at
from loomwright.trials.bench import Bench
from loomwright.trials.mend import Idea

__all__ = ["joined_ends", "own_cavities"]

_MOST = 6
_TO_EARTH = "low_side"


def joined_ends(bench: Bench, finding: Finding) -> Iterator[Idea]:
    """A free wire end at an open terminal: the finding names one of the two."""
    named = set(finding.at) | set(finding.touches)
    free = [(wire, end) for wire in bench.scene.wires.values() for end in ENDS if not point_at(wire, end)]
    opened = _open_required(bench)
    pairs: list[tuple[tuple[bool, bool, str, str], Wire, str, str]] = []
    for wire, end in free:
        other = point_at(wire, other_end(end))
        for point in opened:
            part = bench.scene.parts[split_point(point)[0]]
            if not ({wire.id, point, part.id} & named) or split_point(other)[0] == part.id:
                continue
            pairs.append(((part.circuit != wire.circuit, wire.id not in named, wire.id, point), wire, end, point))
    for _, wire, end, point in sorted(pairs, key=lambda pair: pair[0])[:_MOST]:
        title = bench.scene.title(split_point(point)[0])
        yield Idea(says=f"Join the free end of {wire.id} to {point} ({title})", edits=bench.moved(wire, end, point))


def own_cavities(bench: Bench, finding: Finding) -> Iterator[Idea]:
    """A wire whose need has a pin of its own, moved to it from the cavity it shares, or from earth past its driver."""
    shared = [point for point in (*finding.at, *finding.touches) if len(bench.wires_at(point)) > 1]
    shared += [name for name in finding.at if name not in shared]
    for need in bench.job.needs:
        if not need.pin or not need.part:
            continue
        begins = bench.scene.point(f"{need.part}.{need.terminal}" if need.terminal else need.part)
        pin = _pin_point(bench, need.pin)
        if not pin or bench.wires_at(pin) or not (pin in finding.at or any(point in finding.at for point in shared)):
            continue
        for wire in bench.wires_at(begins):
            end = "to" if bench.scene.point(wire.from_) == begins else "from"
            here = point_at(wire, end)
            if bench.duty(here) == "controller" and len(bench.wires_at(here)) > 1:
                says = f"Move {wire.id} from {here}, which it shares, to {pin}, the pin of {need.id}"
            elif need.ability == _TO_EARTH and bench.node(here) in bench.conduction.earth:
                says = f"Take {wire.id} to {pin}, the pin of {need.id} that switches it to earth, instead of to {here}"
            else:
                continue
            yield Idea(says=says, edits=bench.moved(wire, end, pin))


def _pin_point(bench: Bench, pin: str) -> str:
    for row in bench.job.controller_pins:
        if pin in (row.id, f"{row.part}.{row.terminal}"):
            return f"{row.part}.{row.terminal}"
    return ""


def _open_required(bench: Bench) -> list[str]:
    """Terminals that a sound car never leaves open and that no wire ends at."""
    found = []
    for part in bench.scene.parts.values():
        required = {terminal.name for terminal in bench.kinds[part.kind].terminals if terminal.required}
        found += [point for point in bench.open_terminals(part.id) if split_point(point)[1] in required]
    return found
