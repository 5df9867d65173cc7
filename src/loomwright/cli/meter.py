"""`loomwright meter`: what a voltmeter, ohmmeter, clamp or test lamp shows at a place, in a state."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from loomwright.car import Car
from loomwright.cli.asking import Question, add_changes, add_job, add_state, known_points, open_car, question_of
from loomwright.cli.printing import as_json, show
from loomwright.network.meter import MeterReading, read_amps, read_lamp, read_ohms, read_volts
from loomwright.quantities import for_print, parse_quantity
from loomwright.refusals import OutOfReach

__all__ = ["HELP", "add_arguments", "reading_text", "run"]

HELP = "what a meter or test lamp shows at a place, in a state"
_LEAST = {"V": 1e-4, "A": 1e-4, "ohm": 1e-5}
"""What is less than this the instrument does not tell from nothing."""


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    add_state(parser)
    add_changes(parser)
    asked = parser.add_mutually_exclusive_group(required=True)
    asked.add_argument("--volts", nargs=2, metavar=("A", "B"), help="red lead on A, black lead on B")
    asked.add_argument("--ohms", nargs=2, metavar=("A", "B"), help="battery off, relays at rest")
    asked.add_argument("--amps", metavar="WIRE", help="clamp on a wire, or on part.element")
    asked.add_argument("--lamp", nargs=2, metavar=("A", "B"), help="test lamp between A and B")
    parser.add_argument("--watt", default="5", metavar="WATT", help="watts of the test lamp at 12 V (5)")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    car = open_car(arguments.job)
    watt = _watt(arguments.watt)
    reading = _read(arguments, car, question_of(arguments, car), watt)
    if arguments.json:
        as_json(
            {"value": reading.value, "unit": reading.unit, "floating": reading.floating, "glow": reading.glow or None}
        )
    else:
        show(reading_text(reading))
    return 0


def reading_text(reading: MeterReading) -> str:
    """What the instrument shows, in words.

    Example:
        >>> reading_text(MeterReading(value=12.4267, unit="V"))
        '12.43 V'
        >>> reading_text(MeterReading(value=-1.13e-12, unit="A"))
        '0 A'
    """
    if reading.value is None:
        return "open: nothing flows"
    shown = reading.value if abs(reading.value) >= _LEAST.get(reading.unit, 0.0) else 0.0
    words = f"{for_print(shown, digits=4)} {reading.unit}"
    if reading.glow:
        words += f", lamp {reading.glow}"
    if reading.floating:
        words += " (floating: no path behind a lead)"
    return words


def _read(arguments: Namespace, car: Car, asked: Question, watt: float) -> MeterReading:
    bench = car.bench(asked.state, asked.before, asked.changes)
    if arguments.amps:
        return read_amps(bench, arguments.amps)
    option = next(word for word in ("volts", "ohms", "lamp") if getattr(arguments, word))
    a, b = getattr(arguments, option)
    known_points((a, b), car, asked.changes, f"--{option}")
    if option == "lamp":
        return read_lamp(bench, a, b, watt)
    return read_volts(bench, a, b) if option == "volts" else read_ohms(bench, a, b)


def _watt(text: str) -> float:
    watt = parse_quantity(text, "w", name="--watt")
    if watt <= 0.0:
        raise OutOfReach("--watt", text, "more than 0 W")
    return watt
