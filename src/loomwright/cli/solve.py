"""`loomwright solve`: volts, amps and relays of the whole car in one state."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from loomwright.cli.asking import add_changes, add_job, add_state, known, open_car, question_of
from loomwright.cli.printing import as_json, show
from loomwright.findings import id_order
from loomwright.handover.circuit_plan import CarState
from loomwright.handover.state_plain import plan_plain
from loomwright.handover.state_plain import solved_plain as as_plain
from loomwright.job.job import Job
from loomwright.network.solve import Solved

__all__ = ["HELP", "add_arguments", "as_plain", "of_circuit", "run", "show_solved"]

HELP = "volts, amps and relays of the whole car in one state"


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    add_state(parser)
    add_changes(parser)
    parser.add_argument(
        "--circuit", default="", metavar="CIRCUIT", help="print only the wires and parts of this circuit"
    )
    parser.add_argument(
        "--circuits", action="store_true", help="what each circuit draws and which of its loads work, not every point"
    )


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    car = open_car(arguments.job)
    if arguments.circuit:
        known("--circuit", [arguments.circuit], {circuit.id for circuit in car.job.circuits})
    asked = question_of(arguments, car)
    if arguments.circuits:
        look = car.in_states.look(asked.state, before=asked.before, changes=asked.changes)
        plan = car.in_states.plan(look)
        if arguments.json:
            as_json({"state": dict(look.solved.state), **plan_plain(plan)})
        else:
            _show_circuits(plan)
            _show_trouble(look.solved)
        return 0
    solved = car.solve(asked.state, before=asked.before, changes=asked.changes)
    if arguments.json:
        as_json(as_plain(solved))
        return 0
    show_solved(solved, of_circuit(car.job, arguments.circuit) if arguments.circuit else None)
    return 0


def of_circuit(job: Job, circuit: str) -> set[str]:
    """The wires and parts of a circuit, and what its wires end at."""
    wires = [wire for wire in job.wires if wire.circuit == circuit]
    parts = {part.id for part in job.parts if part.circuit == circuit}
    ends = {end for wire in wires for end in (wire.from_, wire.to) if end}
    return {wire.id for wire in wires} | parts | ends


def show_solved(solved: Solved, wanted: set[str] | None) -> None:
    """Print an answer: points, currents, relays, controllers, and what does not hold.

    Args:
        wanted: points, parts and wires to print; everything where None.
    """

    def is_wanted(name: str) -> bool:
        return wanted is None or name in wanted or name.split(".")[0] in wanted

    show("state: " + ", ".join(f"{name}={value}" for name, value in solved.state.items()))
    for point, volts in sorted(solved.volts.items(), key=lambda item: id_order(item[0])):
        if is_wanted(point):
            show(f"  {point:24} {'  floating' if volts is None else f'{_tidy(volts, 3):10.3f} V'}")
    for name, amps in sorted(solved.amps.items(), key=lambda item: id_order(item[0])):
        if is_wanted(name):
            show(f"  {name:24} {_tidy(amps, 3):10.3f} A")
    for part, lies in sorted(solved.relays.items()):
        if is_wanted(part):
            show(f"  {part:24}   {lies}")
    for part, alive in sorted(solved.alive.items()):
        if is_wanted(part):
            show(f"  {part:24}   {'alive' if alive else 'dead'}")
    _show_trouble(solved)


def _show_circuits(plan: CarState) -> None:
    for battery in plan.batteries:
        volts = "none" if battery.volts is None else f"{_tidy(battery.volts, 2):.2f} V"
        word = "gives" if battery.out_a >= 0.0 else "takes"
        show(f"  {battery.part}: {volts}, {word} {abs(_tidy(battery.out_a, 2)):.2f} A")
    for circuit in plan.circuits:
        works = [load.part for load in circuit.loads if load.works]
        wires = f"{circuit.energised} of {circuit.wires} wires energised"
        loads = f", {len(works)} of {len(circuit.loads)} work: {' '.join(works) or '-'}" if circuit.loads else ""
        draws = f"draws {_tidy(circuit.drawn_a, 2):.2f} A, carries {_tidy(circuit.carried_a, 2):.2f} A"
        show(f"  {circuit.id or 'no circuit'}: {draws}, {wires}{loads}")


def _show_trouble(solved: Solved) -> None:
    for fuse in solved.blown:
        show(f"  {fuse}: more than twice its rating, blown; the rest is told with it open.")
    if solved.buzzing:
        show(f"  {' '.join(solved.buzzing)}: buzzing, in and out by turns; what is told is one moment of it.")
    if solved.collapsed:
        show("  The supply cannot hold this load: no steady answer, these figures are where it gave way.")
    for note in solved.notes:
        show(f"  note: {note}")


def _tidy(value: float, digits: int) -> float:
    return round(value, digits) + 0.0
