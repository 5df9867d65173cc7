"""A reading taken from a meter of the shop for somebody at a page: held beside the pages, watched, and stopped.

The meter is asked in a process of its own: one that hangs, or whose library does, holds nothing up and is let go of at
once where somebody stops it. A meter is read for one person at a time. Nothing is written here: what stood still goes
into the field of the page, as if it had been typed, and is taken down from there.
"""

from __future__ import annotations

import secrets
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, replace
from math import isinf
from threading import Lock, Thread
from time import monotonic, sleep

from loomwright.instruments.hold import Held, hold
from loomwright.instruments.meter import meter_at
from loomwright.instruments.shop_meters import ShopMeter
from loomwright.pages.apart import worked_apart
from loomwright.quantities import for_print
from loomwright.refusals import NoAnswer, Refusal, Stopped

__all__ = ["HeldReading", "MeterBench", "Taking", "held_apart"]

_UNITS = {"volts": "V", "ohms": "ohm", "amps": "A"}
_KEPT = 64
_MOST_S = 60.0
"""Longer than any reading may take, its patience and a meter reached anew with it; then what reaches it hangs. [s]"""
Tell = Callable[[float, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldReading:
    """What a meter came to. held: None where it came to nothing.   name: what the meter calls itself.

    reasons: why it came to nothing, each a sentence.
    """

    held: Held | None = None
    name: str = ""
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Taking:
    """How far a reading is. meter: its name in the shop.   shown: what it showed last, with its unit.

    asked: times the meter was. [-]   value: what stood still, as it would be typed; empty until then, and where it came
    to nothing.   instrument: for the record.   reasons: why it came to nothing.
    """

    meter: str
    measure: str
    who: str
    shown: str = ""
    asked: int = 0
    value: str = ""
    instrument: str = ""
    reasons: tuple[str, ...] = ()
    is_stopped: bool = False

    @property
    def is_over(self) -> bool:
        """Whether nothing more comes of it."""
        return bool(self.value or self.reasons) or self.is_stopped


class MeterBench:
    """Reads meters, each for one person at a time.

    held: reads one; called with the meter, what is measured, and what is told of each figure, which may raise Stopped.
    """

    def __init__(self, held: Callable[[ShopMeter, str, Tell], HeldReading] | None = None) -> None:
        self._held = held or held_apart
        self._known: OrderedDict[str, Taking] = OrderedDict()
        self._turns: dict[str, Lock] = {}
        """By meter: one that was stopped is let go of before it is read again."""
        self._lock = Lock()

    def begin(self, meter: ShopMeter, measure: str, who: str) -> str:
        """Begin to read a meter; gives the word by which the reading is asked after."""
        key = secrets.token_urlsafe(12)
        with self._lock:
            other = next((one for one in self._known.values() if one.meter == meter.name and not one.is_over), None)
            busy = () if other is None else (_busy(meter.name, other.who),)
            self._known[key] = Taking(meter=meter.name, measure=measure, who=who, reasons=busy)
            turn = self._turns.setdefault(meter.address, Lock())
            for old in [name for name, one in self._known.items() if one.is_over][: len(self._known) - _KEPT]:
                del self._known[old]
        if not busy:
            Thread(target=self._work, args=(key, meter, measure, turn), daemon=True, name=f"meter {meter.name}").start()
        return key

    def look(self, key: str, who: str) -> Taking | None:
        """How far a reading is; None where this person began none of that word."""
        with self._lock:
            found = self._known.get(key)
            return found if found is not None and found.who == who else None

    def stop(self, key: str, who: str) -> None:
        """Stop reading, if it still goes on; the meter is let go of."""
        with self._lock:
            found = self._known.get(key)
            if found is not None and found.who == who and not found.is_over:
                self._known[key] = replace(found, is_stopped=True)

    def close(self) -> None:
        """Stop every reading that goes on."""
        with self._lock:
            for key, one in self._known.items():
                if not one.is_over:
                    self._known[key] = replace(one, is_stopped=True)

    def _work(self, key: str, meter: ShopMeter, measure: str, turn: Lock) -> None:
        def tell(value: float, asked: int) -> None:
            with self._lock:
                now = self._known.get(key)
                if now is None or now.is_stopped:
                    raise Stopped(asked, 0)
                if asked:
                    self._known[key] = replace(now, shown=_shown(value, _UNITS[measure]), asked=asked)

        try:
            with turn:
                tell(0.0, 0)
                found = self._held(meter, measure, tell)
        except Stopped:
            return
        except Refusal as refusal:
            found = HeldReading(reasons=(str(refusal),))
        except Exception as fault:  # noqa: BLE001  # whoever waits is told, whatever it was
            found = HeldReading(reasons=(f"It came to no end ({type(fault).__name__}: {fault}).",))
        with self._lock:
            now = self._known.get(key)
            if now is None or now.is_stopped:
                return
            if found.held is None:
                self._known[key] = replace(now, reasons=found.reasons or ("It came to no figure.",))
                return
            value = found.held.text if isinf(found.held.value) else f"{found.held.text} {found.held.unit}"
            self._known[key] = replace(
                now,
                value=value,
                shown=_shown(found.held.value, found.held.unit),
                instrument=_instrument(meter, found.name),
            )


def held_apart(meter: ShopMeter, measure: str, tell: Tell) -> HeldReading:
    """What a meter holds, asked in a process of its own.

    Args:
        tell: called with each figure and how often the meter was asked; may raise Stopped, which ends the process.
    Raises:
        NoAnswer: the process was ended from outside, or what reaches the meter hangs.
    """
    until_s = monotonic() + _MOST_S

    def told(value: float, asked: int) -> None:
        if monotonic() > until_s:
            raise NoAnswer(f"the {meter.name}", (_HANGS,))
        tell(value, asked)

    return worked_apart(f"the {meter.name}", _hold, (meter, measure), told)


def _hold(meter: ShopMeter, measure: str, tell: Tell) -> HeldReading:
    try:
        with meter_at(meter.address, measure, visa=meter.visa) as line:
            held = hold(line.ask, line.unit, clock=monotonic, wait=sleep, tell=tell)
            line.check()
            return HeldReading(held=held, name=line.name)
    except NoAnswer as gone:
        return HeldReading(reasons=gone.reasons)


_HANGS = "What reaches it hangs. Look at its lead and its power. The reading can be typed instead."


def _instrument(meter: ShopMeter, name: str) -> str:
    """The meter for a record: as the shop calls it, and as it calls itself where that is something else."""
    return f"{meter.name} ({name})" if name and name.casefold() != meter.name.casefold() else meter.name


def _shown(value: float, unit: str) -> str:
    return "open" if isinf(value) else f"{for_print(value, digits=4)} {unit.replace('ohm', 'Ω')}"


def _busy(meter: str, who: str) -> str:
    return f"The {meter} is just being read for {who}. Wait until that stands still, or stop it there."
