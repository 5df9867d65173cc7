"""Which reading is worth taking next: most told for least trouble?

For a wire with odds P(f) and a look whose bands come out with C[f, b], a reading is expected to tell

    I = H(sum over f of P(f) C[f, b]) - sum over f of P(f) H(C[f, b])            bits of that wire

`fast_next` weighs every wire and look so, against the minutes it takes: the look's own (with the key already there
less), and the walk where the wire lies at another place than the last one read. `full_next` takes the best of those
and works out, for each band that may come out, the odds of all wires again: what one wire turns out to be, another
is not. Both leave out looks already taken, and what a caution forbids.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.survey.joint import entropies_bits, messages_of, odds_by_messages, places_of
from loomwright.survey.likelihood import band_chances
from loomwright.survey.records import NextReading
from loomwright.survey.weighing import Weighed
from loomwright.tables.old_wires import WireLook, wire_looks

__all__ = ["Trouble", "best_of_each", "fast_next", "full_next", "live_proof"]

Numbers = NDArray[np.float64]
Tell = Callable[[int, int], None]

_TINY = 1e-300
_LEAST_BITS = 0.005
_MOST_TRIED = 150
_ROUNDS_AGAIN = 8
_STANDS_STILL = 1e-4
_STACKED = 16
_LAMPS = ("lamp", "seen")
_SAID: Mapping[str, str] = {
    "side_lamps": "light=side",
    "head_lamps": "light=head",
    "turn": "key=run, turn=left",
    "brake": "key=run, brake=on",
    "reverse": "key=run, selector=R",
    "horn": "key=run, horn=on",
    "wiper": "key=run, wipe=slow",
    "heater": "key=run, heater=on",
    "fuses_out": "key=run, fuses=out",
    "start": "key=start, selector=P",
    "start_in_gear": "key=start, selector=D",
    "lamp": "key=run",
    "seen": "key=run",
    "ohms": "key=off, battery=absent",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """What taking readings costs now. place: where the last was taken.   no_lamp: wires no test lamp may touch.

    walk_minutes: to another place. [min]   done: (wire, look) taken already.   closed: wires that are left alone.
    """

    place: str = ""
    walk_minutes: float = 0.0
    done: frozenset[tuple[str, str]] = frozenset()
    no_lamp: frozenset[str] = frozenset()
    closed: frozenset[str] = frozenset()


def fast_next(weighed: Weighed, trouble: Trouble, most: int = 5) -> tuple[NextReading, ...]:
    """The readings that tell most of their own wire for the minutes they take, best first.

    Args:
        weighed: what is known.
        trouble: what readings cost, and which are out of the question.
        most: at most so many. [-]
    """
    bits, minutes = _gains(weighed, trouble)
    best = [pair for pair in _best(bits / minutes, bits.size) if bits[pair] > _LEAST_BITS]
    return tuple(_reading(weighed, *pair, bits[pair], minutes[pair]) for pair in _first_of_each(best)[:most])


def full_next(weighed: Weighed, trouble: Trouble, most: int = 5, tell: Tell | None = None) -> tuple[NextReading, ...]:
    """The same by what each reading is expected to tell of all wires together.

    Args:
        weighed: what is known.
        trouble: what readings cost, and which are out of the question.
        most: at most so many. [-]
        tell: called with readings tried and to try; may raise Stopped.
    """
    bits, minutes = _gains(weighed, trouble)
    tried = [pair for pair in _best(bits / minutes, _MOST_TRIED) if bits[pair] > _LEAST_BITS]
    places = places_of(weighed.functions)
    found: list[tuple[float, float, int, int]] = []
    cases: list[tuple[int, int, float, Numbers]] = []
    chances = _chances(weighed)
    for row, look in tried:
        outcomes = chances[look][1]
        posterior = weighed.variants[row] / np.maximum(weighed.variants[row].sum(axis=1, keepdims=True), _TINY)
        comes = np.einsum("f,fv,fvb->b", weighed.odds[row], posterior, outcomes)
        for band, chance in enumerate(comes):
            cases.append((row, look, float(chance), (posterior * outcomes[:, :, band]).sum(axis=1)))
    now: dict[str, float] = {}
    left: dict[tuple[int, int], float] = dict.fromkeys(tried, 0.0)
    done = 0
    for stub in dict.fromkeys(weighed.stubs):
        rows = [row for row, each in enumerate(weighed.stubs) if each == stub]
        weights = weighed.weights[rows]
        weights = weights / np.maximum(weights.max(axis=1, keepdims=True), _TINY)
        free = messages_of(weights, places)
        now[stub] = float(entropies_bits(odds_by_messages(weights, places, free)).sum())
        mine = [case for case in cases if weighed.stubs[case[0]] == stub]
        for start in range(0, len(mine), _STACKED):
            some = mine[start : start + _STACKED]
            stack = np.repeat(weights[None], len(some), axis=0)
            for number, (row, _, _, likelihood) in enumerate(some):
                stack[number, rows.index(row)] *= likelihood
            again = messages_of(stack, places, np.repeat(free[None], len(some), axis=0), _ROUNDS_AGAIN, _STANDS_STILL)
            open_bits = entropies_bits(odds_by_messages(stack, places, again)).sum(axis=1)
            for (row, look, chance, _), bits_left in zip(some, open_bits, strict=True):
                left[row, look] += chance * float(bits_left)
            done += len(some)
            if tell:
                tell(done, len(cases))
    for row, look in tried:
        gain = max(0.0, now[weighed.stubs[row]] - left[row, look])
        found.append((gain / minutes[row, look], gain, row, look))
    found.sort(key=lambda each: (-each[0], each[2], each[3]))
    first = _first_of_each([(row, look) for _, _, row, look in found])
    gains = {(row, look): gain for _, gain, row, look in found}
    return tuple(_reading(weighed, *pair, gains[pair], minutes[pair]) for pair in first[:most])


def best_of_each(weighed: Weighed, trouble: Trouble) -> tuple[NextReading | None, ...]:
    """The reading of each wire that would change the mind most, whatever it takes; None where none would."""
    bits, minutes = _gains(weighed, trouble)
    columns = bits.argmax(axis=1) if len(bits) else []
    return tuple(
        _reading(weighed, row, int(column), bits[row, column], minutes[row, column])
        if bits[row, column] > _LEAST_BITS
        else None
        for row, column in enumerate(columns)
    )


def live_proof(weighed: Weighed, trouble: Trouble, row: int) -> NextReading | None:
    """The reading that would prove a wire live, where that is all that is wanting; None where none would.

    What it should follow is worked, then left alone; a feed has to light the test lamp.

    Args:
        weighed: what is known.
        trouble: what readings cost, and which are out of the question.
        row: which wire. [-]
    """
    function = weighed.functions[int(np.argmax(weighed.odds[row]))]
    looks = [look.key for look in wire_looks()]
    wanted = ["lamp"]
    if function.control:
        idle = ("off", "run") if function.control not in ("off", "run") else ("off",)
        wanted = [function.control, *(look for look in idle if function.shows.get(look) in ("floating", "earthed"))]
    wire = weighed.wires[row].id
    for key in wanted:
        look = wire_looks()[looks.index(key)]
        if _is_open(weighed.stubs[row], wire, look, trouble):
            minutes = look.minutes + _walk(weighed.wires[row].where, trouble)
            return _reading(weighed, row, looks.index(key), 0.0, minutes)
    return None


def _chances(weighed: Weighed) -> list[tuple[str, Numbers]]:
    return [band_chances(weighed.shown, look.key) for look in wire_looks()]


def _gains(weighed: Weighed, trouble: Trouble) -> tuple[Numbers, Numbers]:
    """Wires x looks: bits of the wire itself, and minutes; bits are nought where it is out of the question."""
    looks = wire_looks()
    posterior = weighed.variants / np.maximum(weighed.variants.sum(axis=2, keepdims=True), _TINY)
    bits = np.zeros((len(weighed.wires), len(looks)))
    for column, (_, chances) in enumerate(_chances(weighed)):
        bands = chances.shape[2]
        given = (
            posterior.reshape(len(weighed.wires), 2 * len(weighed.functions))[:, :, None]
            * chances.reshape(-1, bands)[None]
        )
        by_function = given.reshape(len(weighed.wires), len(weighed.functions), 2, bands).sum(axis=2)
        comes = np.einsum("wf,wfb->wb", weighed.odds, by_function)
        within = (weighed.odds * entropies_bits(by_function)).sum(axis=1)
        bits[:, column] = np.maximum(entropies_bits(comes) - within, 0.0)
    for row, wire in enumerate(weighed.wires):
        for column, look in enumerate(looks):
            if not _is_open(weighed.stubs[row], wire.id, look, trouble):
                bits[row, column] = 0.0
    minutes = np.array(
        [[look.minutes + _walk(wire.where, trouble) for look in looks] for wire in weighed.wires]
    ).reshape(bits.shape)
    return bits, minutes


def _walk(place: str, trouble: Trouble) -> float:
    return trouble.walk_minutes if place != trouble.place else 0.0


def _is_open(stub: str, wire: str, look: WireLook, trouble: Trouble) -> bool:
    if wire in trouble.closed or (wire, look.key) in trouble.done:
        return False
    if (look.key == "ohms") != (stub == "load"):
        return False
    return not (look.key in _LAMPS and wire in trouble.no_lamp)


def _best(score: Numbers, most: int) -> list[tuple[int, int]]:
    """The best places of a table, ties by its order."""
    flat = np.argsort(-score, axis=None, kind="stable")[:most]
    return [(int(place // score.shape[1]), int(place % score.shape[1])) for place in flat] if score.size else []


def _first_of_each(pairs: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """The best reading of each wire, in the order given."""
    first: dict[int, tuple[int, int]] = {}
    for pair in pairs:
        first.setdefault(pair[0], pair)
    return list(first.values())


def _reading(weighed: Weighed, row: int, column: int, bits: float, minutes: float) -> NextReading:
    wire, look = weighed.wires[row], wire_looks()[column]
    measure = _measure(look.key)
    return NextReading(
        wire=wire.id,
        look=look.key,
        words=look.words,
        measure=measure,
        stub=weighed.stubs[row],
        when=_SAID.get(look.key, f"key={look.key}"),
        bits=float(bits),
        minutes=float(minutes),
        warning=look.warning,
        place=wire.where,
    )


def _measure(look: str) -> str:
    """What is measured in a look, as the sheet has it."""
    return "lamp" if look in _LAMPS else "ohms" if look == "ohms" else "volts"
