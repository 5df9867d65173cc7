"""A reading taken from a meter: what to know first, the figure once it stands still, as cells of the sheet."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from time import monotonic, sleep

from loomwright.cli.shelf_folder import add_shelf, folder_of
from loomwright.instruments.hold import hold
from loomwright.instruments.meter import CAUTIONS, PYTHON_VISA, meter_at
from loomwright.instruments.shop_meters import ShopMeter, shop_meters
from loomwright.refusals import OutOfReach

__all__ = ["add_meter", "cautions_before", "held_at"]

_IN_ADDRESSES = "::"


def add_meter(parser: ArgumentParser) -> None:
    """The words that name a meter."""
    parser.add_argument(
        "--from",
        dest="address",
        default="",
        metavar="ADDRESS",
        help="a meter that speaks SCPI, as VISA writes it: TCPIP::192.0.2.7::5025::SOCKET, or one of the shop's by its "
        "name; its steady reading is kept",
    )
    add_shelf(parser)
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
    return (*own, CAUTIONS[_measure(arguments)])


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

    shops = _of_the_shop(arguments)
    address, visa = (arguments.address, arguments.visa) if shops is None else (shops.address, shops.visa)
    with meter_at(address, measure, visa=visa) as meter:
        held = hold(meter.ask, meter.unit, clock=monotonic, wait=sleep, patience_s=arguments.patience, tell=tell)
        meter.check()
    if live:
        sys.stderr.write("\n")
    return {"measure": measure, "value": held.text, "unit": held.unit, "instrument": meter.name}


def _of_the_shop(arguments: Namespace) -> ShopMeter | None:
    """The shop's meter of that name; None for an address."""
    if _IN_ADDRESSES in arguments.address:
        return None
    there = shop_meters(folder_of(arguments))
    found = next((one for one in there if one.name.casefold() == arguments.address.strip().casefold()), None)
    if found is None and there:
        names = ", ".join(one.name for one in there)
        raise OutOfReach("--from", arguments.address, f"an address as VISA writes it, or a meter of the shop: {names}")
    return found


def _measure(arguments: Namespace) -> str:
    measure = str(arguments.measure or "volts")
    if measure not in CAUTIONS:
        raise OutOfReach("--measure", measure, f"{' '.join(CAUTIONS)}, where a meter reads it")
    return measure
