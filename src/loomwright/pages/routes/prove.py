"""The test sheet: one test after another taken down, its verdict at once, what failed handed to the fault finder."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.car import Car
from loomwright.handover.proof_sheet import proof_sheet
from loomwright.job.job import Job
from loomwright.job.rows import Proof
from loomwright.pages.addresses import job_path
from loomwright.pages.answer_bench import AnswerStanding
from loomwright.pages.desk import Desk
from loomwright.pages.entries import TypedForm, read_form
from loomwright.pages.fault_work import car_digest
from loomwright.pages.grouped_tests import MOST_TOGETHER, group_of, together_note
from loomwright.pages.prove_work import coverage_apart, plan_apart, plan_digest
from loomwright.pages.records.prove_page import prove_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.pages.routes.meters import meters_offered
from loomwright.proving.coverage import Coverage
from loomwright.proving.handing_over import reading_of
from loomwright.proving.plan import PlannedTest, TestPlan, stood_of
from loomwright.proving.taking import taken
from loomwright.refusals import NoAnswer, OutOfReach, Problem
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import AddRow, Edit
from loomwright.writers.proof_paper import proof_pdf

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
Chosen = Annotated[str, Query(max_length=200)]
Word = Annotated[str, Query(max_length=8)]
_MOST_FIELDS = MOST_TOGETHER + 20
_SEE_OTHER = 303
_REFUSED = 422
_SAME_V = 0.5


async def _group_form(request: Request) -> Mapping[str, str]:
    return await read_form(request, _MOST_FIELDS)


GroupForm = Annotated[Mapping[str, str], Depends(_group_form)]


@router.get("/j/{job}/prove")
def prove(request: Request, desk: AtDesk, job: JobName, test: Chosen = "", coverage: Word = "") -> Response:
    """The test sheet, a test in hand; with `coverage=yes` what the live tests would catch."""
    return _page(request, desk, job, test, asks_coverage=coverage == "yes")


@router.post("/j/{job}/prove")
def take(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Take one test down; a re-test stands beside the first."""
    snapshot = desk.shelf.now(job)
    name = typed.get("test", "")
    plan = _plan(desk, snapshot).answer
    test = None if plan is None else plan.named(name)
    if test is None:
        return RedirectResponse(job_path(job, "prove"), _SEE_OTHER)
    try:
        found = taken(
            test,
            typed.get("value", ""),
            time=datetime.now(UTC).isoformat(timespec="seconds"),
            who=desk.who,
            instrument=typed.get("instrument", "")[:80],
            warmth=typed.get("warmth", "") if typed.get("warmth") in ("cold", "hot") else "",
            notes=typed.get("notes", "")[:400],
            system_v=_car(desk, snapshot).scene.vehicle.system_v,
        )
    except OutOfReach as fault:
        asked = Problem(
            sheet="proofs",
            row=None,
            column=fault.name,
            found=str(fault.found),
            allowed=fault.allowed,
            mend="Nothing was written down",
        )
        return _page(request, desk, job, name, typed=typed, problems=(asked,))
    if found.asks and typed.get("insist") != "yes":
        return _page(request, desk, job, name, typed=typed, asks=found.asks)
    edited = desk.shelf.record(job, "proofs", found.cells, who=desk.who)
    if edited.problems:
        return _page(request, desk, job, name, typed=typed, problems=edited.problems)
    onward = name if found.verdict == "failed" else _next_after(plan, name, desk.shelf.now(job).as_written)
    return RedirectResponse(job_path(job, "prove", query={"test": onward} if onward else {}), _SEE_OTHER)


@router.post("/j/{job}/prove/group")
def take_group(request: Request, desk: AtDesk, job: JobName, typed: GroupForm) -> Response:
    """Take down several tests of one sort at one place with one answer, each as its own row."""
    snapshot = desk.shelf.now(job)
    name = typed.get("test", "")
    plan = _plan(desk, snapshot).answer
    test = None if plan is None else plan.named(name)
    written = snapshot.as_written
    group = None if plan is None or test is None else group_of(written, test, stood_of(plan.tests, written.proofs))
    ticked = {text for field, text in typed.items() if field.startswith("is.")}
    tests = [one for one in group.tests if one.id in ticked] if group is not None else []
    if group is None or not tests:
        return RedirectResponse(job_path(job, "prove", query={"test": name} if test else {}), _SEE_OTHER)
    found = [
        taken(
            one,
            group.answer,
            time=datetime.now(UTC).isoformat(timespec="seconds"),
            who=desk.who,
            instrument=typed.get("instrument", "")[:80],
            warmth=typed.get("warmth", "") if typed.get("warmth") in ("cold", "hot") else "",
            notes=together_note(len(tests)) if len(tests) > 1 else "",
        )
        for one in tests
    ]
    edits: list[Edit] = [AddRow(sheet="proofs", cells=one.cells) for one in found]
    why = f"{len(tests)} tests answered together"
    edited = desk.shelf.edit(job, edits, who=desk.who, why=why, token=typed.get("token", "")[:80], kind="record")
    if edited.problems:
        return _page(request, desk, job, name, typed=typed, problems=edited.problems)
    onward = _next_after(plan, name, desk.shelf.now(job).as_written)
    return RedirectResponse(job_path(job, "prove", query={"test": onward} if onward else {}), _SEE_OTHER)


def _next_after(plan: TestPlan | None, name: str, job: Job) -> str:
    """The next test that nobody has taken, going on from one; empty where none is left behind it."""
    tests = () if plan is None else plan.tests
    ids = [test.id for test in tests]
    made = {one.test.id for one in stood_of(tests, job.proofs) if one.rows}
    return next((each for each in ids[ids.index(name) + 1 :] if each not in made), "") if name in ids else ""


@router.get("/j/{job}/prove/paper")
def paper(desk: AtDesk, job: JobName) -> Response:
    """The plan as a paper, with what was read so far; the test sheet while it is worked out."""
    snapshot = desk.shelf.now(job)
    plan = _plan(desk, snapshot).answer
    if plan is None:
        return RedirectResponse(job_path(job, "prove"), _SEE_OTHER)
    written = snapshot.as_written
    data = proof_pdf(proof_sheet(written, stood_of(plan.tests, written.proofs)))
    headers = {"Content-Disposition": 'inline; filename="tests.pdf"', "Cache-Control": "private, no-cache"}
    return Response(data, media_type="application/pdf", headers=headers)


@router.post("/j/{job}/prove/hunt")
def hunt(desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Hand the reading of a failed test to the fault finder, and go there."""
    snapshot = desk.shelf.now(job)
    name = typed.get("test", "")
    plan = _plan(desk, snapshot).answer
    rows = [row for row in snapshot.as_written.proofs if row.test == name]
    test = None if plan is None else plan.named(name)
    word = f"test {name}"[:80]
    if test is not None and rows and test.id in _hunted(_car(desk, snapshot), ((test, rows[-1]),)):
        row = rows[-1]
        cells = {"point": row.point, "when": row.when.text, "measure": "volts", "value": f"{row.value}", "unit": "V"}
        cells = {**(reading_of(test, row) or cells), "visit": word, "time": row.time, "note": f"taken over from {name}"}
        if not any(one.visit == word and one.time == row.time for one in snapshot.as_written.readings):
            desk.shelf.record(job, "readings", {k: v for k, v in cells.items() if v}, who=desk.who)
    return RedirectResponse(job_path(job, "fault", query={"hunt": word}), _SEE_OTHER)


@router.post("/j/{job}/prove/stop")
def stop(desk: AtDesk, job: JobName) -> Response:
    """Stop working it out, and come back."""
    written = desk.shelf.now(job).as_written
    desk.plans.stop(_key(job, plan_digest(written)))
    desk.coverages.stop(_key(job, car_digest(written)))
    return RedirectResponse(job_path(job, "prove"), _SEE_OTHER)


@router.post("/j/{job}/prove/again")
def again(desk: AtDesk, job: JobName) -> Response:
    """Work it out after all, and come back."""
    written = desk.shelf.now(job).as_written
    desk.plans.again(_key(job, plan_digest(written)))
    desk.coverages.again(_key(job, car_digest(written)))
    return RedirectResponse(job_path(job, "prove"), _SEE_OTHER)


def _page(
    request: Request,
    desk: Desk,
    name: str,
    chosen: str,
    *,
    asks_coverage: bool = False,
    typed: Mapping[str, str] | None = None,
    asks: str = "",
    problems: tuple[Problem, ...] = (),
) -> Response:
    snapshot = desk.shelf.now(name)
    car = _car(desk, snapshot)
    job = snapshot.as_written
    plan = _plan(desk, snapshot)
    wanted = asks_coverage and plan.answer is not None
    covered: AnswerStanding[Coverage] = _coverage(desk, snapshot, job) if wanted else AnswerStanding()
    for standing in (plan, covered):
        if standing.refused is not None:
            raise standing.refused
    waits = covered if wanted else plan
    stopped = "plan" if plan.stopped else "coverage" if covered.stopped else ""
    failed = (
        []
        if plan.answer is None
        else [(one.test, one.rows[-1]) for one in stood_of(plan.answer.tests, job.proofs) if one.verdict == "failed"]
    )
    record = prove_page(
        car.job,
        plan.answer,
        links_of(request, snapshot),
        chosen=chosen,
        coverage=covered.answer,
        asks_coverage=asks_coverage,
        stopped=stopped,
        done=waits.done,
        of=waits.of,
        asks=asks,
        meters=meters_offered(request, desk),
        typed=typed,
        problems=problems,
        hunted=_hunted(car, failed),
    )
    return page(request, "prove.html", record, snapshot=snapshot, status=_REFUSED if problems or asks else 200)


def _hunted(car: Car, failed: Sequence[tuple[PlannedTest, Proof]]) -> frozenset[str]:
    """Failed tests that the fault finder takes over: with what was off for them, or of volts that read the same plugged
    in.
    """
    found = set()
    for test, row in failed:
        if reading_of(test, row):
            found.add(test.id)
            continue
        if test.measure != "volts" or test.expected is None:
            continue
        state = dict(pair.split("=", 1) for pair in test.when.split(", ") if pair)
        volts = car.solve(state).volts.get(test.point)
        if volts is not None and abs(volts - test.expected) <= _SAME_V:
            found.add(test.id)
    return frozenset(found)


def _key(name: str, digest: str) -> tuple[str, int, str]:
    return name, 0, digest


def _plan(desk: Desk, snapshot: Snapshot) -> AnswerStanding[TestPlan]:
    job = snapshot.as_written
    return desk.plans.look(_key(snapshot.name, plan_digest(job)), lambda tell: plan_apart(job, tell))


def _coverage(desk: Desk, snapshot: Snapshot, job: Job) -> AnswerStanding[Coverage]:
    return desk.coverages.look(_key(snapshot.name, car_digest(job)), lambda tell: coverage_apart(job, tell))


def _car(desk: Desk, snapshot: Snapshot) -> Car:
    car = desk.cars.of(snapshot)
    if car is None:
        raise NoAnswer("the test sheet", ("The sheets hold a cell that cannot be read: mend it first.",))
    return car
