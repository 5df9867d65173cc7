"""What does the meter read here, now?

The same network with the instrument in it: a 10 Mohm voltmeter, an ohmmeter of 1 mA and 2 V with the battery off and
relays at rest, amps through a wire, and a test lamp of given watts. Source of the instrument figures: common practice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from loomwright.job.job import Job
from loomwright.job.variables import Variable
from loomwright.network.build import build_network
from loomwright.network.compiled import Compiled, compile_network
from loomwright.network.records import Changes, Short
from loomwright.network.solve import Solved, solve
from loomwright.refusals import OutOfReach
from loomwright.tables.constants import constant
from loomwright.tables.kinds import Kind

__all__ = ["Bench", "MeterReading", "read_amps", "read_lamp", "read_ohms", "read_volts"]

State = Mapping[str, str | float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """The job, its kinds, what is changed, and the state the meter is used in."""

    job: Job
    kinds: Mapping[str, Kind]
    changes: Changes
    state: State
    before: State | None = None
    variables: tuple[Variable, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterReading:
    """What the instrument shows. value: in `unit`, None where it shows nothing steady. glow: full, dim or dark."""

    value: float | None
    unit: str
    floating: bool = False
    glow: str = ""


def _solved(bench: Bench, changes: Changes) -> tuple[Compiled, Solved]:
    compiled = compile_network(build_network(bench.job, bench.kinds, changes, bench.variables))
    return compiled, solve(compiled, bench.state, bench.before)


def _point(compiled: Compiled, point: str) -> str:
    name = compiled.network.aliases.get(point, point)
    if name not in compiled.node_of:
        raise OutOfReach("point", point, "a point of the job: part.terminal, a metal, or ~part.terminal behind a plug")
    return name


def _checked(bench: Bench, *points: str) -> None:
    compiled = compile_network(build_network(bench.job, bench.kinds, bench.changes, bench.variables))
    for point in points:
        _point(compiled, point)


def read_volts(bench: Bench, a: str, b: str) -> MeterReading:
    """Volts of `a` against `b` with a 10 Mohm meter between them. [V]

    Raises:
        OutOfReach: no such point.
    """
    _checked(bench, a, b)
    meter = Short(a, b, constant("meter_volts_ohm"))
    compiled, bare = _solved(bench, bench.changes)
    alone = [bare.volts.get(_point(compiled, point)) is None for point in (a, b)]
    compiled, solved = _solved(bench, replace(bench.changes, shorts=(*bench.changes.shorts, meter)))
    high, low = (solved.volts.get(_point(compiled, point)) for point in (a, b))
    if high is None or low is None:
        return MeterReading(value=0.0, unit="V", floating=True)
    return MeterReading(value=high - low, unit="V", floating=any(alone))


def read_ohms(bench: Bench, a: str, b: str) -> MeterReading:
    """Ohms between two points with the battery off: 1 mA pushed through, 2 V at most. [ohm]

    Raises:
        OutOfReach: no such point.
    """
    _checked(bench, a, b)
    test_a, ceiling_v = constant("meter_ohms_a"), constant("meter_ohms_v")
    changes = replace(bench.changes, without_battery=True, tested=((a, b, test_a, ceiling_v),))
    compiled, solved = _solved(bench, changes)
    high, low = (solved.volts.get(_point(compiled, point)) for point in (a, b))
    amps = -solved.amps["ohmmeter.1"]
    if high is None and low is None:
        # neither end reaches the battery's post: bridge one to it, which carries no current
        bridge = Short(b, compiled.network.nodes[compiled.network.reference], 1.0)
        compiled, solved = _solved(bench, replace(changes, shorts=(*changes.shorts, bridge)))
        high, low = (solved.volts.get(_point(compiled, point)) for point in (a, b))
        amps = -solved.amps["ohmmeter.1"]
    if high is None or low is None or amps < test_a * 1e-6:
        return MeterReading(value=None, unit="ohm", floating=True)
    return MeterReading(value=(high - low) / amps, unit="ohm")


def read_amps(bench: Bench, wire: str) -> MeterReading:
    """Amps through a wire or a part's element, by clamp. [A]

    Raises:
        OutOfReach: no such wire.
    """
    _, solved = _solved(bench, bench.changes)
    if wire not in solved.amps:
        raise OutOfReach("wire", wire, "a wire id of the job, or part.element")
    return MeterReading(value=solved.amps[wire], unit="A")


def read_lamp(bench: Bench, a: str, b: str, watt: float) -> MeterReading:
    """How a test lamp glows between two points, and its amps: full from 70 % of its rated amps, dim from 20 %. [A]

    Args:
        watt: the lamp, at 12 V. [W]
    Raises:
        OutOfReach: no such point, or a lamp of no watts.
    """
    if watt <= 0.0:
        raise OutOfReach("watt", f"{watt:g}", "more than 0")
    _checked(bench, a, b)
    compiled, solved = _solved(bench, replace(bench.changes, lamps=((a, b, watt),)))
    amps = solved.amps["test_lamp.1"]
    share = abs(amps) / (watt / 12.0)
    floating = solved.volts.get(_point(compiled, a)) is None or solved.volts.get(_point(compiled, b)) is None
    full, dim = constant("glow_full_frac"), constant("glow_dim_frac")
    glow = "dark" if floating or share < dim else "dim" if share < full else "full"
    return MeterReading(value=0.0 if floating else amps, unit="A", floating=floating, glow=glow)
