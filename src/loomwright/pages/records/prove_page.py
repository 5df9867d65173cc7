"""What does the test sheet show: the next test large, all tests by stage with their verdicts, and what they catch?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.handover.proof_sheet import band_text
from loomwright.job.job import Job
from loomwright.job.rows import Proof
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.grouped_tests import TestGroup, group_of
from loomwright.pages.records.entry_form import new_token
from loomwright.proving.coverage import Coverage
from loomwright.proving.plan import STAGES, Stood, TestPlan, held_off, stood_of
from loomwright.proving.taking import TOLD
from loomwright.quantities.printing import for_print
from loomwright.refusals import Problem

__all__ = ["CoverLine", "CoverageShown", "GroupCard", "ProvePage", "StageTests", "TestCard", "TestLine", "prove_page"]

_MOST = 30
_UNITS = {"V": "V", "ohm": "Ω", "A": "A", "degC": "°C"}
_PERCENT = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class TestCard:
    """The test in hand. words: what it may be answered with, none where a figure is read.   before: earlier records.

    changed: those of the car before a change, which count no more.

    expect, band: what a sound car reads, and between what it passes; no band where a word is expected.
    """

    __test__ = False

    id: str
    title: str
    point: str
    to: str
    place: str
    when: str
    put: str
    does: str
    measure: str
    expect: str
    band: str
    unit: str
    words: tuple[str, ...]
    cautions: tuple[str, ...]
    wires: tuple[str, ...]
    before: tuple[str, ...]
    changed: tuple[str, ...]
    skip: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupCard:
    """Tests that may be answered together with the one in hand. points: id and place of each.   word: on the button.

    token: of the form, so that it counts once.
    """

    does: str
    at: str
    word: str
    points: tuple[tuple[str, str], ...]
    token: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenLast:
    """The record taken last. read, verdict: as printed.   is_figure: it was read and not answered in words.

    beside: its cold and its hot reading, where both are.
    """

    point: str
    when: str
    read: str
    is_figure: bool
    verdict: str
    href: str
    beside: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TestLine:
    """One test in the list. hunt: where the fault finder takes its reading over, empty where there is nothing to.

    begin: where a hunt begins whose first reading is taken anew, since this one was taken with plugs off.
    """

    __test__ = False

    id: str
    point: str
    does: str
    when: str
    expect: str
    read: str
    verdict: str
    href: str
    hunt: str
    begin: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StageTests:
    """One stage. done, failed: of its tests. [-]   is_here: the test in hand is one of them."""

    title: str
    done: int
    failed: int
    lines: tuple[TestLine, ...]
    is_here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CoverLine:
    """One kind of fault. caught, of: how many. [-]   share: 0 to 100. [%]"""

    says: str
    caught: int
    of: int
    share: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CoverageShown:
    """What the tests catch, and how many each stage does. caught, of: faults.   more: missed and not named. [-]"""

    caught: int
    of: int
    kinds: tuple[CoverLine, ...]
    stages: tuple[tuple[str, int], ...]
    missed: tuple[str, ...]
    more: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ProvePage:
    """The page. waits_for: `plan`, `coverage` or nothing.   asks: why a reading is asked about once more.

    typed: what comes back in the form; with what and how warm as it was last, where nothing does.
    """

    waits_for: str
    stopped: str
    done: int
    of: int
    card: TestCard | None
    group: GroupCard | None
    failed: tuple[TestLine, ...]
    last: TakenLast | None
    stages: tuple[StageTests, ...]
    taken: int
    tests: int
    walk_m: str
    turns: int
    coverage: CoverageShown | None
    asks_coverage: bool
    asks: str
    meters: tuple[str, ...]
    typed: Mapping[str, str]
    problems: tuple[Problem, ...]
    save: str
    save_group: str
    hunt: str
    stop: str
    again: str
    covered: str
    paper: str
    links: JobLinks


def prove_page(
    job: Job,
    plan: TestPlan | None,
    links: JobLinks,
    *,
    chosen: str = "",
    coverage: Coverage | None = None,
    asks_coverage: bool = False,
    stopped: str = "",
    done: int = 0,
    of: int = 0,
    asks: str = "",
    meters: tuple[str, ...] = (),
    typed: Mapping[str, str] | None = None,
    problems: tuple[Problem, ...] = (),
    hunted: frozenset[str] = frozenset(),
) -> ProvePage:
    """The page.

    Args:
        plan: None while it is worked out.
        chosen: the test in hand; the first that is not taken where empty.
        coverage: None while it is worked out, or not asked for.
        stopped: `plan` or `coverage`, where that was stopped.
        done, of: of what is worked out. [-]
        asks: why the reading is asked about.
        meters: of the shop, that a reading may be taken from.
        hunted: failed tests whose reading the fault finder can take over.
    """
    stood = () if plan is None else stood_of(plan.tests, job.proofs)
    here = next((one for one in stood if one.test.id == chosen), None)
    here = here or next((one for one in stood if not one.rows), None)
    lines = _stages(stood, here, links, hunted)
    group = None if here is None else group_of(job, here.test, stood)
    waits = "plan" if plan is None else "coverage" if asks_coverage and coverage is None else ""
    return ProvePage(
        waits_for="" if stopped else waits,
        stopped=stopped,
        done=done,
        of=of,
        card=None if here is None else _card(job, here, stood, links),
        group=None if group is None else _group(job, group),
        failed=tuple(one for stage in lines for one in stage.lines if one.verdict == "failed"),
        last=_last(job, links),
        stages=tuple(lines),
        taken=sum(bool(one.rows) for one in stood),
        tests=len(stood),
        walk_m="" if plan is None else for_print(plan.walk_mm / 1000.0, digits=2),
        turns=0 if plan is None else plan.turns,
        coverage=None if coverage is None else _covered(coverage),
        asks_coverage=asks_coverage,
        asks=asks,
        meters=meters,
        typed=typed or _as_before(job),
        problems=problems,
        save=job_path(links.job, "prove"),
        save_group=job_path(links.job, "prove", "group"),
        hunt=job_path(links.job, "prove", "hunt"),
        stop=job_path(links.job, "prove", "stop"),
        again=job_path(links.job, "prove", "again"),
        covered=job_path(links.job, "prove", query={"coverage": "yes"}),
        paper=job_path(links.job, "prove", "paper"),
        links=links,
    )


def _as_before(job: Job) -> Mapping[str, str]:
    """With what, and how warm: whoever takes one test after another does not type it each time."""
    last = next(reversed(job.proofs), None)
    return {} if last is None else {"instrument": last.instrument, "warmth": last.warmth}


def _last(job: Job, links: JobLinks) -> TakenLast | None:
    """The record taken last, with its verdict, also while the plan is worked out again for it."""
    row = next(reversed(job.proofs), None)
    if row is None:
        return None
    mine = [each for each in job.proofs if each.test == row.test]
    told = {each.warmth: shown(each) for each in mine if each.warmth}
    return TakenLast(
        point=row.point,
        when=row.when.text,
        read=shown(row),
        is_figure=isinstance(row.value, int | float),
        verdict=row.verdict,
        href=job_path(links.job, "prove", query={"test": row.test}),
        beside=f"{told['cold']} · {told['hot']}" if {"cold", "hot"} <= told.keys() else "",
    )


def shown(row: Proof) -> str:
    """What a record reads, with its unit."""
    value = row.value
    figure = for_print(float(value)) if isinstance(value, int | float) else str(value or "")
    unit = _UNITS.get(row.unit, "") if isinstance(value, int | float) else ""
    text = f"{figure} {unit}".strip() or row.notes
    return f"{text}, {row.warmth}" if row.warmth else text


def _card(job: Job, one: Stood, stood: Sequence[Stood], links: JobLinks) -> TestCard:
    test = one.test
    names = {place.id: place.name or place.id for place in job.places}
    at = next(k for k, each in enumerate(stood) if each is one)
    later = next((each.test.id for each in stood[at + 1 :] if not each.rows), "")
    return TestCard(
        id=test.id,
        title=dict(STAGES)[test.stage],
        point=test.point,
        to=test.to,
        place=names.get(test.place, test.place),
        when=test.when,
        put=test.put,
        does=test.does,
        measure=test.measure,
        expect=test.says,
        band=band_text(test.low, test.high, test.unit) if test.low is not None or test.high is not None else "",
        unit=_UNITS.get(test.unit, ""),
        words=TOLD.get(test.measure, ()),
        cautions=(*held_off(stood, test.stage), *test.caution),
        wires=test.wires,
        before=tuple(f"{shown(row)}: {row.verdict}" for row in one.rows),
        changed=tuple(f"{shown(row)}: {row.verdict}" for row in one.before),
        skip=job_path(links.job, "prove", query={"test": later}) if later else "",
    )


def _group(job: Job, group: TestGroup) -> GroupCard:
    names = {place.id: place.name or place.id for place in job.places}
    ends = {one.to for one in group.tests}
    return GroupCard(
        does=group.does,
        at=names.get(group.at, group.at),
        word=group.answer,
        points=tuple((one.id, one.point + (f" to {one.to}" if len(ends) > 1 else "")) for one in group.tests),
        token=new_token(),
    )


def _stages(stood: Sequence[Stood], here: Stood | None, links: JobLinks, hunted: frozenset[str]) -> list[StageTests]:
    found = []
    for stage, title in STAGES:
        mine = [one for one in stood if one.test.stage == stage]
        if mine:
            found.append(
                StageTests(
                    title=title,
                    done=sum(bool(one.rows) for one in mine),
                    failed=sum(one.verdict == "failed" for one in mine),
                    lines=tuple(_line(one, links, hunted) for one in mine),
                    is_here=here in mine,
                )
            )
    return found


def _line(one: Stood, links: JobLinks, hunted: frozenset[str]) -> TestLine:
    test, failed = one.test, one.verdict == "failed"
    return TestLine(
        id=test.id,
        point=test.point + (f" to {test.to}" if test.to else ""),
        does=test.does,
        when=test.when,
        expect=test.says,
        read=" · ".join(shown(row) for row in one.rows),
        verdict=one.verdict if one.rows else "",
        href=job_path(links.job, "prove", query={"test": test.id}),
        hunt=test.id if failed and test.id in hunted else "",
        begin=job_path(links.job, "fault", query={"hunt": f"test {test.id}"[:80]}) if failed else "",
    )


def _covered(coverage: Coverage) -> CoverageShown:
    missed = coverage.missed
    return CoverageShown(
        caught=coverage.caught,
        of=len(coverage.tried),
        stages=coverage.stages,
        kinds=tuple(
            CoverLine(
                says=f"{one.kind}: {one.says}",
                caught=one.caught,
                of=one.of,
                share=round(_PERCENT * one.caught / max(1, one.of)),
            )
            for one in coverage.kinds
        ),
        missed=tuple(one.says for one in missed[:_MOST]),
        more=max(0, len(missed) - _MOST),
    )
