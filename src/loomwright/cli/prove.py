"""`loomwright prove`: the test plan of the new loom, a reading taken down, and which faults the live tests catch."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from loomwright.car import Car
from loomwright.cli.asking import add_job, open_given
from loomwright.cli.export import known_ending, write_out
from loomwright.cli.printing import as_json, counted, show, show_hanging, write_file
from loomwright.cli.read_meter import add_meter, cautions_before, held_at
from loomwright.cli.shelf_folder import clock
from loomwright.cli.telling import telling
from loomwright.handover.plan_plain import coverage_plain, plan_plain
from loomwright.handover.proof_plan import Planned
from loomwright.handover.proof_sheet import proof_sheet
from loomwright.job.edits import add_row
from loomwright.job.nearest import nearest
from loomwright.job.reading import problems_of
from loomwright.job.rows import Proof
from loomwright.proving.coverage import Coverage
from loomwright.proving.handing_over import reading_of
from loomwright.proving.plan import STAGES, PlannedTest, Stood, held_off, stood_of
from loomwright.proving.taking import taken
from loomwright.refusals import BadDocument, OutOfReach
from loomwright.sheets.one_file import lies_there
from loomwright.writers.proof_paper import proof_pdf

__all__ = ["HELP", "add_arguments", "run"]

HELP = "the test plan of the new loom; --take writes one reading down, --coverage tells which faults it catches"

_HANG = "        "
_MOST = 40


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument(
        "--take",
        default="",
        metavar="TEST=VALUE",
        help='one reading: "dead/ends/W12=0.1 ohm"; - if not possible; TEST alone with --from',
    )
    add_meter(parser)
    parser.add_argument("--coverage", action="store_true", help="put every single fault in and tell which are caught")
    parser.add_argument("--paper", default="", metavar="FILE.pdf", help="write the plan as a paper, with what was read")
    parser.add_argument(
        "--air", type=float, default=None, metavar="DEG_C", help="the air the car stands in; else as it was read, or 20"
    )
    parser.add_argument("--instrument", default="", metavar="TEXT", help="with what it was read")
    parser.add_argument("--who", default="", metavar="NAME", help="by whom")
    parser.add_argument("--warmth", default="", choices=("", "cold", "hot"), help="cold or hot car")
    parser.add_argument("--note", default="", metavar="TEXT", help="anything worth knowing; why it was not possible")
    parser.add_argument("--anyway", action="store_true", help="keep a reading that was asked about")
    parser.add_argument("--out", default="", metavar="JOB", help="write the job there instead")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code: 1 where a test has failed or a reading is asked about."""
    if arguments.take:
        return _take(arguments)
    car = Car(open_given(arguments.job).job)
    planned = car.proof_plan(arguments.air)
    stood = stood_of(planned.plan.tests, car.job.proofs)
    if arguments.paper:
        return _paper(arguments, car, planned, stood)
    coverage = planned.coverage(telling("faults")) if arguments.coverage else None
    if arguments.json:
        told = plan_plain(planned.plan, stood)
        as_json(told if coverage is None else told | {"coverage": coverage_plain(coverage)})
    else:
        for line in _lines(planned, stood) if coverage is None else _covered(coverage):
            show_hanging(line, _HANG)
    return int(any(one.verdict == "failed" for one in stood))


def _paper(arguments: Namespace, car: Car, planned: Planned, stood: Sequence[Stood]) -> int:
    path = Path(arguments.paper)
    if path.suffix.lower() != ".pdf":
        raise OutOfReach("--paper", arguments.paper, "a file name that ends with .pdf")
    write_file(path, proof_pdf(proof_sheet(car.job, stood)))
    if arguments.json:
        as_json({"written": str(path), "tests": len(planned.plan.tests), "taken": sum(bool(one.rows) for one in stood)})
    else:
        show(f"{counted(len(planned.plan.tests), 'test')} written to {path}")
    return 0


def _take(arguments: Namespace) -> int:
    opened = open_given(arguments.job)
    if not arguments.out and lies_there(Path(arguments.job)) == "nothing":
        raise OutOfReach("--out", "", "--out JOB: an example is not written over")
    car = Car(opened.job)
    planned = car.proof_plan(arguments.air)
    test, typed = _asked_for(arguments, planned)
    instrument = arguments.instrument
    if arguments.address:
        held = _held(arguments, test)
        typed, instrument = f"{held['value']} {held['unit']}", instrument or held["instrument"]
        typed = held["value"] if held["value"] == "open" else typed
    found = taken(
        test,
        typed,
        time=clock(),
        who=arguments.who,
        instrument=instrument,
        warmth=arguments.warmth,
        notes=arguments.note,
        system_v=car.scene.vehicle.system_v,
    )
    if found.asks and not arguments.anyway:
        raise OutOfReach("--take", typed, f"{found.asks} with --anyway")
    job = add_row(opened.job, "proofs", found.cells)
    problems = problems_of(job)
    if problems:
        raise BadDocument(tuple(problems))
    path = Path(arguments.out or arguments.job)
    known_ending(path)
    write_out(replace(opened, job=job), path, is_over=not arguments.out)
    if arguments.json:
        over = {} if found.verdict != "failed" else {"reading": dict(reading_of(test, job.proofs[-1]))}
        as_json({"written": str(path), "row": len(job.proofs) + 1, **found.cells, **over})
    else:
        show(f"{test.id}: {found.verdict}. Expected {test.says}. Row {len(job.proofs) + 1} of proofs in {path}")
        no_power = held_off(stood_of(planned.plan.tests, job.proofs), test.stage)
        for caution in (*no_power, *(test.caution if found.verdict == "failed" else ())):
            show_hanging(f"  {caution}", "  ")
        if found.verdict == "failed" and (asked := _hunt(test, job.proofs[-1])):
            show(f"Where is it: loomwright locate {path} {asked}")
    return int(found.verdict == "failed")


def _hunt(test: PlannedTest, row: Proof) -> str:
    """The words that hand a reading to the fault finder as the car stood; empty where it cannot take it over."""
    cells = reading_of(test, row)
    if not cells:
        return ""
    to, off = f":{cells['to']}" if "to" in cells else "", f"/{cells['off']}" if "off" in cells else ""
    value = cells["value"] + ("" if cells["value"] == "open" or cells["unit"] == "V" else cells["unit"])
    when = f' --state "{cells["when"]}"' if "when" in cells else ""
    return f'--read "{cells["point"]}{to}{off}={value}"{when}'


def _asked_for(arguments: Namespace, planned: Planned) -> tuple[PlannedTest, str]:
    """The test that is named, and what was typed of it; nothing where a meter is read."""
    tests = {one.id: one for one in planned.plan.tests}
    whole = arguments.take.strip()
    name, sign, typed = (whole, "=", "") if arguments.address else whole.rpartition("=")
    if arguments.address and whole not in tests and whole.rpartition("=")[0] in tests:
        raise OutOfReach("--take", whole, "TEST alone: the meter of --from gives the figure")
    if not sign:
        raise OutOfReach("--take", whole, "TEST=VALUE, such as dead/ends/W12=0.1; TEST alone with --from ADDRESS")
    test = tests.get(name.strip())
    if test is None:
        like = nearest(name, list(tests))
        raise OutOfReach("--take", name, "a test of the plan" + (f"; nearest: {like}" if like else ""))
    return test, typed


def _held(arguments: Namespace, test: PlannedTest) -> dict[str, str]:
    """What the meter holds at a test, its cautions told first."""
    if test.measure not in ("volts", "ohms", "amps"):
        raise OutOfReach("--from", arguments.address, f"a test in volts, ohms or amps; {test.id} is none")
    asked = Namespace(**{**vars(arguments), "measure": test.measure})
    for caution in () if arguments.json else cautions_before(asked, test.caution):
        show_hanging(f"! {caution}", "  ")
    return held_at(asked)


def _lines(planned: Planned, stood: Sequence[Stood]) -> Iterator[str]:
    plan = planned.plan
    saved_m = (plan.before_walk_mm - plan.walk_mm) / 1000.0
    walk = f"walking {plan.walk_mm / 1000.0:.0f} m, {counted(plan.turns, 'turn')} of keys and switches"
    less = f"{saved_m:.0f} m and {plan.before_turns - plan.turns} less than by name"
    yield f"{counted(len(stood), 'test')}; {walk}, {less}."
    for stage, title in STAGES:
        mine = [one for one in stood if one.test.stage == stage]
        if not mine:
            continue
        yield ""
        yield f"{title} ({len(mine)})"
        cautions = [*held_off(stood, stage), *dict.fromkeys(text for one in mine for text in one.test.caution)]
        yield from (f"  ! {text}" for text in cautions)
        put = ""
        for one in mine:
            if one.test.put != put:
                put = one.test.put
                yield f"  {put}"
            yield f"    {_line(one)}"


def _line(one: Stood) -> str:
    test = one.test
    state = f" at {test.when}" if test.when else ""
    to = f" to {test.to}" if test.to else ""
    again = "  [to be taken again: the sheets have changed]" if one.before and not one.rows else ""
    verdict = again if one.verdict == "not taken" else f"  [{one.verdict}]"
    return f"{test.id}  {test.point}{to}{state}, {test.measure}: {test.does}; {test.says}{verdict}"


def _covered(coverage: Coverage) -> Iterator[str]:
    yield f"{coverage.caught} of {len(coverage.tried)} single faults would be caught by {coverage.tests} tests."
    yield "  " + ", ".join(f"{stage} {caught}" for stage, caught in coverage.stages)
    for kind in coverage.kinds:
        yield f"  {kind.caught:4d} of {kind.of:4d}  {kind.kind}: {kind.says}"
    missed = coverage.missed
    if missed:
        yield "not caught by any of them, so looked for under load or by hand:"
        yield from (f"  {one.says}" for one in missed[:_MOST])
        if len(missed) > _MOST:
            yield f"  and {len(missed) - _MOST} more: --json names them all"
