"""A reading taken from a meter: what to know first, the figure once it stands still, as cells of the sheet."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from time import monotonic, sleep

from loomwright.instruments.hold import hold
from loomwright.instruments.meter import PYTHON_VISA, meter_at
from loomwright.refusals import OutOfReach

__all__ = ["add_meter", "cautions_before", "held_at"]

_CAUTIONS = {
    "volts": "No probe into an airbag or brake-control plug; hands and leads off fans and belts.",
    "ohms": "Battery off first: on a live wire ohms are wrong, and the meter can be harmed. "
    "Never across an airbag: the meter's own current can fire it.",
    "amps": "In its amps sockets the meter is a dead short: in line with the load, through a fused lead, "
    "never from a feed to the body.",
}


def add_meter(parser: ArgumentParser) -> None:
    """The words that name a meter."""
    parser.add_argument(
        "--from",
        dest="address",
        default="",
        metavar="ADDRESS",
        help="a meter that speaks SCPI, as VISA writes it: TCPIP::192.0.2.7::5025::SOCKET; its steady reading is kept",
    )
    parser.add_argument(
        "--visa", default=PYTHON_VISA, metavar="VISA", help="what reaches the meter; @py needs nothing, @ivi a maker's"
    )
    parser.add_argument(
        "--patience", type=float, default=30.0, metavar="SECONDS", help="how long a reading may take to stand still"
    )


def cautions_before(arguments: Namespace, own: Sequence[str] = ()) -> tuple[str, ...]:
    """What can hurt when a meter is put there, what is said of the wire itself first.

    Args:
        own: the cautions of the old wire, or of the test.
    """
    return (*own, _CAUTIONS[_measure(arguments)])


def held_at(arguments: Namespace) -> dict[str, str]:
    """The cells a meter fills: measure, value, unit, instrument.

    Args:
        arguments: `address`, `visa`, `patience`, and `measure`: volts where it is blank.
    Raises:
        NoAnswer: no meter, it went away, or the reading never stood still.
        OutOfReach: something a meter does not measure.
    """
    measure = _measure(arguments)
    live = sys.stderr.isatty()

    def tell(value: float, asked: int) -> None:
        if live:
            sys.stderr.write(f"\r{asked:4d}  {value:12.5g}")

    with meter_at(arguments.address, measure, visa=arguments.visa) as meter:
        held = hold(meter.ask, meter.unit, clock=monotonic, wait=sleep, patience_s=arguments.patience, tell=tell)
    if live:
        sys.stderr.write("\n")
    return {"measure": measure, "value": held.text, "unit": held.unit, "instrument": meter.name}


def _measure(arguments: Namespace) -> str:
    measure = str(arguments.measure or "volts")
    if measure not in _CAUTIONS:
        raise OutOfReach("--measure", measure, f"{' '.join(_CAUTIONS)}, where a meter reads it")
    return measure
