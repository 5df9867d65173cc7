"""Does every connector hold terminals that are there, and each cavity once?"""

from __future__ import annotations

from collections.abc import Iterator
from fnmatch import fnmatchcase

from loomwright.job.checking.look import Look, told
from loomwright.job.rows import Connector
from loomwright.refusals import Problem
from loomwright.tables.kinds import terminal_of

__all__ = ["check_connectors"]


def check_connectors(look: Look) -> Iterator[Problem]:
    """Connectors that hold a terminal nobody has, the same one twice, or one that another connector holds too."""
    held: dict[tuple[str, str], list[int]] = {}
    for index, connector in enumerate(look.job.connectors):
        if connector.mates and connector.mates == connector.id:
            yield look.problem(
                "connectors",
                index,
                "mates",
                found=connector.mates,
                allowed="another connector",
                mend="Name the other half",
            )
        part = connector.part
        known = part in look.ids["parts"] and look.job.parts[look.ids["parts"][part]].kind in look.kinds
        if not known or look.unread & {"parts", "contacts", "controller_pins"}:
            continue
        yield from _terminals(look, index, connector)
        for terminal in _expanded(look, connector):
            held.setdefault((part, terminal), []).append(index)
    for (part, terminal), indices in held.items():
        yield from _held_twice(look, f"{part}.{terminal}", indices)


def _terminals(look: Look, index: int, connector: Connector) -> Iterator[Problem]:
    """Terminals of one connector that are not there, or stand in its list twice."""
    part = connector.part
    there = look.terminals[part]
    kind = look.kinds[look.job.parts[look.ids["parts"][part]].kind]
    seen = set()
    for word in connector.terminals:
        if word in seen:
            allowed = "each cavity once"
            yield look.problem(
                "connectors", index, "terminals", found=word, allowed=allowed, mend=f"Take one {word} out"
            )
        seen.add(word)
        if word in there or (kind.numbered and terminal_of(kind, word) is not None):
            continue
        if "*" in word and (kind.numbered or any(fnmatchcase(terminal, word) for terminal in there)):
            continue
        meant = look.nearest(f"terminals of {part}", word, there)
        mend = f"Write {meant}" if meant else "Name terminals the part has, or give it those"
        allowed = told(f"terminals of {part}", there)
        yield look.problem("connectors", index, "terminals", found=f"{part}.{word}", allowed=allowed, mend=mend)


def _expanded(look: Look, connector: Connector) -> tuple[str, ...]:
    """The terminals a connector holds, patterns written out."""
    found: dict[str, None] = {}
    for word in connector.terminals:
        matching = (
            [name for name in look.terminals[connector.part] if fnmatchcase(name, word)] if "*" in word else [word]
        )
        found |= dict.fromkeys(matching)
    return tuple(found)


def _held_twice(look: Look, point: str, indices: list[int]) -> Iterator[Problem]:
    """A cavity that several connectors claim; the two halves of one plug may."""
    first = look.job.connectors[indices[0]]
    for index in indices[1:]:
        other = look.job.connectors[index]
        are_halves = (
            other.id in (first.mates,)
            or first.id in (other.mates,)
            or (other.side and first.side not in ("", other.side))
        )
        if not are_halves:
            yield look.problem(
                "connectors",
                index,
                "terminals",
                found=point,
                allowed="each cavity in one connector",
                mend=f"{first.id} in row {look.row('connectors', indices[0])} holds it too: take it out of one of them",
            )
