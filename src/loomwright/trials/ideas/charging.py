"""Feed a relay's coil from where it sees that the alternator charges: its terminal D+ or L."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings import Finding
from loomwright.trials.bench import Bench
from loomwright.trials.mend import Idea

__all__ = ["charging_feeds"]

_TELLING = ("D+", "L")


def charging_feeds(bench: Bench, finding: Finding) -> Iterator[Idea]:
    """The wires that a finding names, each at a terminal of an alternator that is live only while it charges."""
    wires = [bench.scene.wires[name] for name in finding.at if name in bench.scene.wires]
    alternators = [part.id for part in bench.scene.parts.values() if part.kind == "alternator"]
    points = [f"{part}.{name}" for part in alternators for name in _TELLING if bench.wires_at(f"{part}.{name}")]
    for wire in wires:
        for point in points:
            says = f"Take {wire.id} from {point}, which is live while it charges, instead of {bench.upper(wire)}"
            yield Idea(says=says, edits=bench.moved(wire, bench.upper_end(wire), point))
