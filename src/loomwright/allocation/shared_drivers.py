"""Which two loads may hang on one driver, and what is lost by it?

- injectors and coils, one a cylinder: all in companion pairs, which come to the top together, or none, since a
  controller opens and fires either each by itself or pairs; injectors of which that is not known: in any pairs;
- others: where both are on at the same times; solenoids of a gearbox never.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from loomwright.allocation.able import why_not
from loomwright.allocation.ground import AskedNeed, Ground
from loomwright.allocation.pin_puzzle import rank_of
from loomwright.allocation.way_edits import Change
from loomwright.allocation.way_more import More, Seats, seat_of
from loomwright.findings import id_order
from loomwright.job.firing_order import companions, firing_order_of

__all__ = ["driven", "shares"]

_SHARED = ("low_side", "high_side", "injector")
_COILS = ("coil_plain", "coil_with_igniter")
_Found = tuple[Seats, dict[str, tuple[str, ...]], dict[str, float | None]]
"""What is asked of the puzzle so far: seats, pins that fit, amps [A]."""
_CYLINDER = re.compile(r"\b(?:cylinder|coil|injector) (\d+)\b(?!\s*(?:and\b|,))", re.IGNORECASE)
_TWICE = (
    "each injector its own moment: those of a pair open together, twice in two turns and for half the fuel each time; "
    "tell the controller"
)
_WASTED = (
    "a spark a cylinder: each coil of a pair fires every turn, also while its cylinder blows out (wasted spark), so "
    "tell the controller, allow for warmer coils, and give the timing light every flash"
)


def shares(
    ground: Ground, seats: Seats, pins: dict[str, tuple[str, ...]], loads_a: dict[str, float | None]
) -> Iterator[tuple[More, More, str]]:
    """Two loads of one kind on one driver: the one that gives up its pin, the one that then carries both, a bundle.

    Those of one bundle are made all or none; empty where a pair is by itself.
    """
    for one, other in _pairs_of_loads(ground):
        first, second = (one, other) if rank_of(one) <= rank_of(other) else (other, one)
        names = " and ".join(sorted((first.row.id, second.row.id), key=id_order))
        said = (f"{names} on one driver", f"{names} can only be on together")
        made = _shared(ground, first, second, said, seats, pins, loads_a)
        if made is not None:
            yield *made, ""
    for ability, loses in (("injector", _TWICE), ("ignition", _WASTED)):
        yield from _all_or_none(ground, ability, loses, (seats, pins, loads_a))


def _all_or_none(ground: Ground, ability: str, loses: str, into: _Found) -> Iterator[tuple[More, More, str]]:
    """The pairs of companions of which every cylinder has one such load of its own; none where one pair has no pin."""
    trial: _Found = ({}, {}, {})
    paired = []
    for one, other in _pairs_of_companions(ground, ability):
        first, second = (other, one) if other.fixed is not None and one.fixed is None else (one, other)
        names = " and ".join(sorted((first.row.id, second.row.id), key=id_order))
        paired.append(_shared(ground, first, second, (f"{names} on one driver, as companions", loses), *trial))
    if all(made is not None for made in paired):
        for kept, found in zip(into, trial, strict=True):
            kept.update(found)  # type: ignore[attr-defined]
        yield from ((*made, ability) for made in paired if made is not None)


def _shared(
    ground: Ground,
    first: AskedNeed,
    second: AskedNeed,
    said: tuple[str, str],
    seats: Seats,
    pins: dict[str, tuple[str, ...]],
    loads_a: dict[str, float | None],
) -> tuple[More, More] | None:
    """The second load on the first one's driver; None where no pin carries both."""
    both_a = (first.load_a or 0.0) + (second.load_a or 0.0)
    fit = tuple(name for name, pin in ground.pins.items() if not why_not(first, pin, load_a=both_a))
    fit = tuple(name for name in fit if first.fixed in (None, name))
    if not fit:
        return None
    carrier, rider = first.row.id, second.row.id
    item = seat_of(ground, f"{carrier}~and {rider}", carrier, fit, seats, pins, loads_a, both_a)
    change = Change(kind="share", needs=(rider,), says=said[0], loses=said[1], carrier=carrier)
    like = first.row.ability
    return (
        More(unit=rider, name=f"with {carrier}", items=(), change=change, like=("share", like)),
        More(unit=carrier, name=f"carries {rider}", items=(item,), change=change, like=("carries", like)),
    )


def _pairs_of_loads(ground: Ground) -> Iterator[tuple[AskedNeed, AskedNeed]]:
    """Loads that may share. Of those alike in all only neighbours by name: others would be the same way again."""
    kinds = {part.id: part.kind for part in ground.job.parts}
    classes = {circuit.id: circuit.class_ for circuit in ground.job.circuits}
    served = {part.id: classes.get(part.circuit, "") for part in ground.job.parts}
    rows = [need for need in ground.needs.values() if need.row.ability in _SHARED and _is_loose(need)]
    rows = [need for need in rows if need.fixed is None]
    when = driven(ground)
    place: dict[str, tuple[object, int]] = {}
    for need in rows:
        like_it = (need.row.ability, need.load_a, rank_of(need), kinds[need.row.part], served[need.row.part],
                   when.get(need.row.id))  # fmt: skip
        place[need.row.id] = (like_it, sum(like_it == each for each, _ in place.values()))
    beside = companions(firing_order_of(ground.job))
    all_or_none = any(_pairs_of_companions(ground, "injector"))
    cylinder = {need.row.id: _cylinder(ground, need) for need in rows if need.row.ability == "injector"}
    for number, one in enumerate(rows):
        for two in rows[number + 1 :]:
            (one_like, at), (two_like, other_at) = place[one.row.id], place[two.row.id]
            if (one.row.ability, kinds[one.row.part]) != (two.row.ability, kinds[two.row.part]):
                continue
            if served.get(one.row.part) != served.get(two.row.part):
                continue
            fires, with_it = cylinder.get(one.row.id), cylinder.get(two.row.id)
            if fires is not None and fires in beside and with_it in beside:
                if beside[fires] == with_it and not all_or_none:
                    yield one, two
                continue
            if one_like == two_like and other_at > at + 1:
                continue
            if _may_share(one, two, served, when):
                yield one, two


def _pairs_of_companions(ground: Ground, ability: str) -> Iterator[tuple[AskedNeed, AskedNeed]]:
    """The coils, or the injectors, of companions, where every cylinder has one of its own; else none."""
    beside = companions(firing_order_of(ground.job))
    kinds = {part.id: part.kind for part in ground.job.parts}
    rows = [need for need in ground.needs.values() if need.row.ability == ability]
    fired = {_cylinder(ground, need): need for need in rows}
    if not beside or len(rows) != len(beside) or fired.keys() != beside.keys():
        return
    if all(_is_loose(need) and (ability != "ignition" or kinds.get(need.row.part) in _COILS) for need in rows):
        yield from ((fired[one], fired[other]) for one, other in beside.items() if one < other)


def _is_loose(need: AskedNeed) -> bool:
    """Whether nothing but its pin and its load is asked of a need."""
    return need.load_a is not None and not (need.row.option or need.row.together or need.row.apart)


def _cylinder(ground: Ground, need: AskedNeed) -> int | None:
    """The one cylinder that a coil or injector serves, by what it is called; None where that is not told. [-]"""
    name = next((part.name for part in ground.job.parts if part.id == need.row.part), "")
    found = next((match for text in (name, need.row.does) if (match := _CYLINDER.search(text))), None)
    return None if found is None else int(found[1])


def _may_share(
    one: AskedNeed,
    other: AskedNeed,
    served: Mapping[str, str],
    when: Mapping[str, frozenset[tuple[object, ...]]],
) -> bool:
    """Injectors may open in pairs; others where both are on at the same times; solenoids of a gearbox never."""
    if one.row.ability == "injector":
        return True
    return served.get(one.row.part) != "gearbox" and when.get(one.row.id) == when.get(other.row.id)


def driven(ground: Ground) -> dict[str, frozenset[tuple[object, ...]]]:
    """Output -> when it is on."""
    found: dict[str, frozenset[tuple[object, ...]]] = {}
    for drive in ground.job.drives:
        row = (drive.when, drive.duty_frac, drive.for_s)
        found[drive.output] = found.get(drive.output, frozenset()) | {row}
    return found
