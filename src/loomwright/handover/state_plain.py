"""One state of the car as plain lists, words and figures, as `--json` prints it and a page's data come."""

from __future__ import annotations

import math
from collections.abc import Iterable

from loomwright.handover.circuit_plan import CarState, CircuitState
from loomwright.handover.state_look import StateLook, is_energised, wire_volts
from loomwright.job.rows import Wire
from loomwright.network.solve import Solved

__all__ = ["circuit_plain", "plan_plain", "solved_plain", "wires_plain"]

_DIGITS = 9


def solved_plain(solved: Solved) -> dict[str, object]:
    """Volts, amps and relays of one state; a floating point has no volts."""
    return {
        "state": dict(solved.state),
        "volts": {point: _figure(value) for point, value in sorted(solved.volts.items())},
        "amps": {name: _figure(value) for name, value in sorted(solved.amps.items())},
        "relays": dict(sorted(solved.relays.items())),
        "alive": dict(sorted(solved.alive.items())),
        "blown": list(solved.blown),
        "buzzing": list(solved.buzzing),
        "collapsed": solved.collapsed,
        "notes": list(solved.notes),
    }


def plan_plain(plan: CarState) -> dict[str, object]:
    """The whole car in one state, circuit by circuit."""
    return {
        "batteries": [
            {"part": one.part, "volts": _figure(one.volts), "out_a": _figure(one.out_a)} for one in plan.batteries
        ],
        "alternator_a": _figure(plan.alternator_a),
        "drawn_a": _figure(plan.drawn_a),
        "energised": list(plan.energised),
        "circuits": [circuit_plain(one) for one in plan.circuits],
    }


def circuit_plain(circuit: CircuitState) -> dict[str, object]:
    """One circuit in one state."""
    return {
        "id": circuit.id,
        "name": circuit.name,
        "class": circuit.class_,
        "wires": circuit.wires,
        "energised": circuit.energised,
        "floating": circuit.floating,
        "drawn_a": _figure(circuit.drawn_a),
        "carried_a": _figure(circuit.carried_a),
        "most_wire": circuit.most_wire,
        "loads": [{"part": one.part, "amps": _figure(one.amps), "works": one.works} for one in circuit.loads],
    }


def wires_plain(look: StateLook, wires: Iterable[Wire]) -> list[dict[str, object]]:
    """Some wires in one state: volts at both ends, amps from `from` to `to`, what feeds those energised."""
    found: list[dict[str, object]] = []
    for wire in wires:
        volts = wire_volts(look, wire)
        found.append(
            {
                "id": wire.id,
                "from": wire.from_,
                "to": wire.to,
                "colour": wire.colour,
                "from_v": _figure(volts[0]),
                "to_v": _figure(volts[1]),
                "amps": _figure(look.solved.amps.get(wire.id)),
                "energised": is_energised(look, wire),
                "fed_by": list(look.feeds(wire.from_, wire.to)) if is_energised(look, wire) else [],
                "back_by": list(look.leads_back(wire.from_, wire.to)),
            }
        )
    return found


def _figure(value: float | None) -> float | None:
    """A figure without the dust of its last digits; none where a collapse left no number."""
    return None if value is None or not math.isfinite(value) else round(value, _DIGITS) + 0.0
