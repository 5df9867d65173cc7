"""What does a multimeter that speaks SCPI show, over any way it is reached?

It is set once to what is measured and asked for one figure at a time: `*IDN?`, `CONFigure`, `READ?`. A figure of
9.9E37 is the standard's way of saying over range: open; 9.91E37 says that there is none. A meter that does not answer
is reached anew and asked once more; then it is told that it hangs, or that it was unplugged, and nothing is written.
One that shows another unit, by the letters behind its figure or by what it says it is set to (`CONFigure?`), was turned
by hand meanwhile: that is told too.

Source: SCPI-1999, volumes 1 and 2, from memory; IEEE 488.2 for `*IDN?`, from memory.
Limits: two-lead ohms, steady volts, steady amps. A meter on the network is reached with what is locked; one on a serial
or USB lead needs the library for that lead, or the VISA of its maker (`--visa`).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from math import copysign, inf
from typing import TYPE_CHECKING, cast

from loomwright.refusals import NoAnswer

if TYPE_CHECKING:
    from pyvisa.resources import MessageBasedResource

__all__ = ["CAUTIONS", "PYTHON_VISA", "Meter", "meter_at"]

PYTHON_VISA = "@py"
"""The VISA that needs nothing but Python."""
_SET: Mapping[str, str] = {"volts": "CONF:VOLT:DC", "ohms": "CONF:RES", "amps": "CONF:CURR:DC"}
_UNITS: Mapping[str, str] = {"volts": "V", "ohms": "ohm", "amps": "A"}
CAUTIONS: Mapping[str, str] = {
    "volts": "No probe into an airbag or brake-control plug; hands and leads off fans and belts.",
    "ohms": "Battery off first: on a live wire ohms are wrong, and the meter can be harmed. "
    "Never across an airbag: the meter's own current can fire it.",
    "amps": "In its amps sockets the meter is a dead short: in line with the load, through a fused lead, "
    "never from a feed to the body.",
}
"""What can hurt when a meter is put to volts, ohms or amps; common practice, no source."""
_SHOWN: Mapping[str, tuple[str, ...]] = {
    "volts": ("V", "VDC", "VOLT", "VOLT:DC", "VOLTAGE", "VOLTAGE:DC"),
    "ohms": ("OHM", "OHMS", "RES", "RESISTANCE"),
    "amps": ("A", "ADC", "CURR", "CURR:DC", "CURRENT", "CURRENT:DC"),
}
"""What a meter calls what it is set to, or the unit of its figure."""
_OTHERWISE: Mapping[str, str] = {
    **{word: measure for measure, words in _SHOWN.items() for word in words},
    **dict.fromkeys(("VAC", "VOLT:AC", "VOLTAGE:AC"), "alternating volts"),
    **dict.fromkeys(("AAC", "CURR:AC", "CURRENT:AC"), "alternating amps"),
    **dict.fromkeys(("FRES", "FRESISTANCE"), "ohms with four leads"),
    **dict.fromkeys(("CONT", "CONTINUITY"), "continuity"),
    **dict.fromkeys(("DIOD", "DIODE"), "diodes"),
    **dict.fromkeys(("FREQ", "FREQUENCY", "HZ"), "frequency"),
    **dict.fromkeys(("TEMP", "TEMPERATURE", "CEL", "FAR"), "temperature"),
    **dict.fromkeys(("CAP", "CAPACITANCE", "FARAD"), "capacitance"),
}
_TOLD = re.compile(r"\s*([+-]?(?:[0-9]+[.]?[0-9]*|[.][0-9]+)(?:[eE][+-]?[0-9]+)?)\s*([A-Za-z:]*)\s*")
_OVER_RANGE, _NO_FIGURE = 9.9e37, 9.905e37
_MILLI = 1000.0
_NAME_PIECES = 2
_FUNCTION_WAIT_S = 1.0
"""So long a meter may take to say what it is set to; many say nothing. [s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Meter:
    """A meter that answers. name: what it calls itself.   unit: of its figures.   ask: gives one more of them.

    check: looks, after the last of them, whether it was set to something else meanwhile; it is not asked any more then.
    """

    name: str
    unit: str
    ask: Callable[[], float]
    check: Callable[[], None]


@contextmanager
def meter_at(address: str, measure: str, *, visa: str = PYTHON_VISA, patience_s: float = 3.0) -> Iterator[Meter]:
    """A meter, set to what is measured, for as long as it is needed.

    Args:
        address: as VISA writes it: `TCPIP::192.0.2.7::5025::SOCKET`, `USB0::...::INSTR`.
        measure: `volts`, `ohms` or `amps`.
        visa: which VISA reaches it: the Python one, a maker's (`@ivi`), or a file of the simulator (`bench.yaml@sim`).
        patience_s: an answer that takes longer does not come. [s]
    Raises:
        NoAnswer: nothing to reach meters with, no meter there, it went away, or it shows another unit; says what to do.
    """
    try:
        from pyvisa import ResourceManager
        from pyvisa.errors import Error as NotReached
    except ImportError as missing:
        raise NoAnswer(f"the meter at {address}", (_NO_LIBRARY, _TYPE_IT)) from missing
    away = (NotReached, OSError, ValueError, AttributeError)
    try:
        manager = ResourceManager(visa)
    except away as fault:
        raise _gone(address, f"the VISA {visa} does not open ({fault})") from fault

    def opened() -> tuple[MessageBasedResource, str]:
        found = manager.open_resource(
            address, read_termination="\n", write_termination="\n", timeout=patience_s * _MILLI
        )
        resource = cast("MessageBasedResource", found)
        name = resource.query("*IDN?").strip()
        resource.write(_SET[measure])
        return resource, name

    try:
        line = _Line(opened, away, address, measure)
        yield Meter(name=_short(line.name), unit=_UNITS[measure], ask=line.ask, check=line.check)
    finally:
        with suppress(*away):  # a meter that is gone cannot be closed, and need not be
            manager.close()


class _Line:
    """A line to a meter that was set to what is measured; opened anew once where it stops answering."""

    def __init__(
        self,
        opened: Callable[[], tuple[MessageBasedResource, str]],
        away: tuple[type[Exception], ...],
        address: str,
        measure: str,
    ) -> None:
        """Open it.

        Args:
            opened: gives a line and what the meter at its end calls itself.
            away: what is raised where nothing answers.
        Raises:
            NoAnswer: nothing answers there.
        """
        self._opened, self._away, self._address, self._measure = opened, away, address, measure
        try:
            self._line, self.name = opened()
        except away as fault:
            raise _gone(address, f"nothing answers there ({fault})") from fault

    def ask(self) -> float:
        """One more figure, in the unit of what is measured; NoAnswer where the meter went away. [-]"""
        try:
            return self._figure()
        except self._away:
            pass
        try:
            # clearing a socket that was hung up never ends; a new line to the meter does, either way
            self._line.close()
            self._line, _ = self._opened()
            return self._figure()
        except self._away as fault:
            raise _gone(self._address, "it stopped answering: hung, or its lead came off") from fault

    def check(self) -> None:
        """Nothing, where it is still set to what is measured, or does not say; NoAnswer else."""
        try:
            self._line.timeout = _FUNCTION_WAIT_S * _MILLI
            told = self._line.query("CONF?")
        except self._away:  # it does not say; an answer that comes late is read by nobody
            return
        _same(re.split(r"[\s,]", told.strip(' "\n'))[0], self._address, self._measure)

    def _figure(self) -> float:
        return _figure(self._line.query("READ?"), self._address, self._measure)


def _figure(told: str, address: str, measure: str) -> float:
    first = told.split(",")[0].strip()
    shown = _TOLD.fullmatch(first)
    if first.upper() == "NAN" or (shown is not None and abs(float(shown[1])) >= _NO_FIGURE):
        raise NoAnswer(f"the meter at {address}", ("It told that it has no figure.", _TYPE_IT))
    if shown is None:
        raise NoAnswer(
            f"the meter at {address}", (f"It told {first!r}, which is no figure: is it a multimeter?", _TYPE_IT)
        )
    _same(shown[2], address, measure)
    value = float(shown[1])
    return copysign(inf, value) if abs(value) >= _OVER_RANGE else value


def _same(word: str, address: str, measure: str) -> None:
    """Nothing, where a meter shows what it was set to, or says in no word we know what it shows."""
    other = _OTHERWISE.get(word.strip('"').upper(), measure)
    if other != measure:
        raise NoAnswer(
            f"the meter at {address}",
            (
                f"It shows {other}, not {measure}: it was set otherwise by hand.",
                "Turn it back and take it again.",
                _TYPE_IT,
            ),
        )


_TYPE_IT = "The reading can be typed instead, and nothing was written of this one."
_NO_LIBRARY = "PyVISA is not installed: it comes with loomwright[instruments]."


def _gone(address: str, why: str) -> NoAnswer:
    return NoAnswer(
        f"the meter at {address}",
        (f"{why[:1].upper()}{why[1:]}.", "Look at its lead, its power and its address.", _TYPE_IT),
    )


def _short(name: str) -> str:
    """What it is, out of `maker,model,serial,version`."""
    return " ".join(piece.strip() for piece in name.split(",")[:_NAME_PIECES] if piece.strip())
