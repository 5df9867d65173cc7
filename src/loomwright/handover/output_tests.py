"""What should each output of a controller do when it is switched on by itself?

In: the job's network. Out: one test an output that is wired, in order of pin: what its pin reads off and on, its amps,
which relays pull in and which loads start. The controller is alive with the engine stopped, and one more of its drivers
is on, as its own output test does it; every output is solved by itself (`probing`), relays settling anew.

Source: the driver is the pin's own, `kinds/abilities.toml`; half the rated current counts as working, common practice.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from loomwright.findings import id_order
from loomwright.handover.asking import Asked, state_text
from loomwright.handover.outage import loads_of, working
from loomwright.handover.pack_records import OutputTest, OutputTests
from loomwright.handover.probing import Probed, probed
from loomwright.handover.records import Caution, WireMark
from loomwright.handover.wire_ends import WireEnd, wire_ends
from loomwright.job.job import Job
from loomwright.job.rows import ControllerPin, Part
from loomwright.network.build import build_network
from loomwright.network.compiled import Compiled
from loomwright.network.controller import pin_ability
from loomwright.network.records import Element
from loomwright.network.solve import Batch, solve_many, values_of
from loomwright.quantities import for_print
from loomwright.tables.kinds import Kind, load_abilities

__all__ = ["OutputTest", "OutputTests", "output_tests"]

_DRIVE = ".drive"
_LEAST_A = 1e-3
_SMALL_A = 0.1
"""Less than this is printed in milliamps. [A]"""
_MILLI = 1000.0
_OUT = "out"
_STEPS = (
    ("fan", ("cooling_fan",), ("fan",)),
    ("fuel", ("fuel_pump",), ("fuel_pump", "injector")),
    ("ignition", (), ("coil_", "igniter")),
    ("throttle", (), ("throttle_electric",)),
)
"""Word of a caution, the roles and the beginnings of kinds that bring it to a test."""


def output_tests(
    job: Job,
    kinds: Mapping[str, Kind],
    compiled: Compiled,
    columns: Sequence[Asked],
    cautions: Sequence[Caution] = (),
) -> OutputTests:
    """The tests of every wired output.

    Args:
        columns: the states of the paper; the first in which a controller is alive and the engine does not turn is used.
        cautions: those of the job.
    """
    ends = wire_ends(job, kinds)
    pins = {f"{pin.part}.{pin.terminal}": pin for pin in job.controller_pins if _is_output(job, pin)}
    drives = [one for one in compiled.network.elements if one.name.removesuffix(_DRIVE) in pins and _is_drive(one)]
    told = sorted((one for one in drives if one.name.removesuffix(_DRIVE) in ends), key=lambda one: id_order(one.name))
    base = _base(columns)
    if base is None or not told:
        return OutputTests(state="", tests=())
    network = build_network(job, kinds, None, compiled.network.variables)
    probes = [replace(one, name=f"{one.name}.tested") for one in told]
    found = probed(network, probes, values_of(compiled, base.state))
    batch = solve_many(found.compiled, found.states)
    table = _Bench(job=job, kinds=kinds, found=found, batch=batch, ends=ends, cautions=tuple(cautions))
    tests = tuple(_test(table, row, one, pins[one.name.removesuffix(_DRIVE)]) for row, one in enumerate(told, start=1))
    return OutputTests(state=state_text(base.state), tests=tests)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bench:
    """What every test needs: the job, the probed network, its answers (row 0 with nothing on), wires, cautions."""

    job: Job
    kinds: Mapping[str, Kind]
    found: Probed
    batch: Batch
    ends: Mapping[str, tuple[WireEnd, ...]]
    cautions: tuple[Caution, ...]


def _test(bench: _Bench, row: int, drive: Element, pin: ControllerPin) -> OutputTest:
    point = drive.name.removesuffix(_DRIVE)
    compiled, batch = bench.found.compiled, bench.batch
    node = compiled.node_of[point]
    own = [*compiled.elements_of[drive.name], *compiled.elements_of[f"{drive.name}.tested"]]
    already = bool(np.abs(batch.amps[0, own]).max() > _LEAST_A)
    amps = abs(float(batch.amps[row, own].sum()))
    rating = f" of {_amps_text(pin.max_a)}" if pin.max_a else ""
    loads = loads_of(compiled)
    works = working(loads, batch.amps[[0, row]])
    start = {loads.parts[k] for k in np.flatnonzero(works[1] & ~works[0])}
    pulled = [
        device.name.split(".")[0]
        for k, device in enumerate(compiled.network.devices)
        if device.what == "relay" and batch.devices[row, k] and not batch.devices[0, k]
    ]
    starts = (*sorted(set(pulled), key=id_order), *sorted(start - set(pulled), key=id_order))
    return OutputTest(
        pin=point,
        does=_does(bench.job, pin),
        wires=tuple(WireMark(id=end.wire, colour=end.colour) for end in bench.ends[point]),
        off="on already" if already else _volts(batch, 0, node),
        on=_volts(batch, row, node),
        amps=_amps_text(amps) + rating,
        starts=starts,
        caution=_caution(bench, starts),
        on_v=None if batch.floating[row, node] else float(batch.v[row, node]),
        through_a=amps,
        earths=_earths(bench, row, start),
    )


def _earths(bench: _Bench, row: int, start: Collection[str]) -> tuple[tuple[str, float], ...]:
    """The earthed terminals of loads that start, and their volts."""
    compiled, batch = bench.found.compiled, bench.batch
    found = []
    for part in bench.job.parts:
        kind = bench.kinds.get(part.kind)
        if part.id not in start or kind is None or kind.duty != "load":
            continue
        for terminal in kind.terminals:
            node = compiled.node_of.get(f"{part.id}.{terminal.name}")
            if terminal.polarity == -1 and node is not None and not batch.floating[row, node]:
                found.append((f"{part.id}.{terminal.name}", abs(float(batch.v[row, node] - batch.v[row, -1]))))
    return tuple(found)


def _base(columns: Sequence[Asked]) -> Asked | None:
    alive = [one for one in columns if any(one.solved.alive.values())]
    still = [one for one in alive if one.state.get("engine", "stopped") == "stopped"]
    return next(iter([*still, *alive]), None)


def _is_output(job: Job, pin: ControllerPin) -> bool:
    ability = load_abilities().get(pin_ability(pin, job.needs))
    return ability is not None and ability.direction == _OUT


def _is_drive(element: Element) -> bool:
    return element.type == "pin" and element.name.endswith(_DRIVE)


def _does(job: Job, pin: ControllerPin) -> str:
    points = (pin.id, pin.terminal, f"{pin.part}.{pin.terminal}")
    need = next((need for need in job.needs if need.pin and need.pin in points and need.does), None)
    ability = load_abilities()[pin_ability(pin, job.needs)]
    return need.does.replace("_", " ") if need else ability.title


def _volts(batch: Batch, row: int, node: int) -> str:
    return "floating" if batch.floating[row, node] else f"{round(float(batch.v[row, node]), 2) + 0.0:.2f}"


def _amps_text(amps: float) -> str:
    return f"{for_print(amps * _MILLI)} mA" if amps < _SMALL_A else f"{for_print(amps)} A"


def _caution(bench: _Bench, starts: Sequence[str]) -> tuple[str, ...]:
    """The steps of the cautions that what starts brings with it."""
    parts: dict[str, Part] = {part.id: part for part in bench.job.parts}
    started = [parts[name] for name in starts if name in parts]
    words = {
        word
        for word, roles, kinds in _STEPS
        for part in started
        if part.role in roles or any(part.kind.startswith(kind) for kind in kinds)
    }
    return tuple(dict.fromkeys(one.step for one in bench.cautions if words & set(one.at)))
