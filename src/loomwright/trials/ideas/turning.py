"""Turn it round: exchange the wires at two terminals of a part, or of a relay's coil and contact."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings import Finding
from loomwright.job.points import split_point
from loomwright.trials.bench import Bench
from loomwright.trials.edits import ChangedCell
from loomwright.trials.mend import Idea

__all__ = ["exchanged_feeds", "turned_parts"]


def turned_parts(bench: Bench, finding: Finding) -> Iterator[Idea]:
    """Exchange the wires at the two terminals between which a part has a way round."""
    for part in dict.fromkeys(split_point(place)[0] for place in finding.at):
        row = bench.scene.parts.get(part)
        if row is None:
            continue
        kind = bench.kinds[row.kind]
        names = [terminal.name for terminal in kind.terminals if bench.wires_at(f"{part}.{terminal.name}")]
        polar = [terminal.name for terminal in kind.terminals if terminal.polarity and terminal.name in names]
        named = [split_point(place)[1] for place in finding.at if split_point(place)[0] == part]
        pairs: list[tuple[str, str]] = []
        if kind.group == "relays" and {"85", "86"} <= set(names):
            pairs.append(("86", "85"))
        elif len(polar) == 2:
            pairs.append((polar[0], polar[1]))
        elif len(names) == 2:
            pairs.append((names[0], names[1]))
        else:
            pairs += [(one, other) for one in named for other in names if one and one in names and other != one]
        for one, other in dict.fromkeys(tuple(sorted(pair)) for pair in pairs):
            yield Idea(
                says=f"Turn {part} round: exchange the wires at {part}.{one} and {part}.{other}",
                edits=_exchanged(bench, part, one, other),
            )


def exchanged_feeds(bench: Bench, finding: Finding) -> Iterator[Idea]:
    """A relay whose coil and contact have each other's feed: the switch's contact then carries the coil only."""
    near = {split_point(place)[0] for place in (*finding.at, *finding.touches, *finding.path)}
    for name in sorted(near & set(bench.scene.parts)):
        for wire in bench.wires_of(name):
            for end in (wire.from_, wire.to):
                part, terminal = split_point(end)
                row = bench.scene.parts.get(part)
                if row is None or bench.kinds[row.kind].group != "relays" or terminal not in ("30", "85", "86"):
                    continue
                for coil in ("86", "85"):
                    if bench.wires_at(f"{part}.30") and bench.wires_at(f"{part}.{coil}"):
                        yield Idea(
                            says=f"Exchange the feeds of {part}: the wires at {part}.30 and {part}.{coil}, "
                            "so that the switch works the coil and the fused feed goes to the contact",
                            edits=_exchanged(bench, part, "30", coil),
                        )


def _exchanged(bench: Bench, part: str, one: str, other: str) -> tuple[ChangedCell, ...]:
    points = {f"{part}.{one}": f"{part}.{other}", f"{part}.{other}": f"{part}.{one}"}
    return tuple(
        bench.changed("wires", wire.id, end, points[here])
        for wire in bench.scene.wires.values()
        for end, here in (("from", wire.from_), ("to", wire.to))
        if here in points
    )
