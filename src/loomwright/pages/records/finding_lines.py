"""What does the page of findings say: which ones, in which order, each with its places and the state it was found in?

Roots come first with what hangs on them folded beneath. The address picks: a stage, a circuit, a place, a severity. A
finding is of a circuit or a place where one of its own ids or points is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from operator import ge, gt, le, lt

from loomwright.findings import Finding, id_order, says, when_text
from loomwright.job.job import Job
from loomwright.job.pins_waiting import pins_given_in
from loomwright.job.rows import Waiver
from loomwright.job.variables import UNPLUGGED, Variable, variables_of
from loomwright.pages.addresses import JobLinks
from loomwright.pages.checking import Standing
from loomwright.pages.mending import mark_of
from loomwright.pages.records.finding_stages import stage_of_rule
from loomwright.pages.records.last_change import LastChange
from loomwright.pages.records.source_notes import SourceNote, source_notes
from loomwright.pages.records.stage_counts import STAGE_WORDS
from loomwright.quantities.printing import Side, for_print
from loomwright.refusals import Problem
from loomwright.store.snapshot import Snapshot
from loomwright.tables.kinds import load_kinds

__all__ = [
    "Choice",
    "FindingLine",
    "FindingsPage",
    "Pick",
    "ProblemLine",
    "findings_page",
    "line_of",
    "state_in",
]

_COMPARED: Mapping[str, Callable[[float, float], bool]] = {">=": ge, ">": gt, "<=": le, "<": lt}
_SEVERITIES = ("fault", "warning", "note")


@dataclass(frozen=True, slots=True, kw_only=True)
class Pick:
    """Which findings are asked for; empty words ask for all."""

    stage: str = ""
    circuit: str = ""
    place: str = ""
    severity: str = ""

    def with_(self, name: str, value: str) -> dict[str, str]:
        """The questions of an address with one of them changed."""
        asked = {"stage": self.stage, "circuit": self.circuit, "place": self.place, "severity": self.severity}
        return {**asked, name: value}


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One value that can be picked. number: of findings it leaves, with the other picks as they are. [-]"""

    value: str
    word: str
    number: int
    is_picked: bool
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingLine:
    """One finding as it is told.

    number: that ties it to the margin; 0 for one that is folded. [-]
    says: without its figures and its mend.   found, allowed: printed, each to its own side, with `unit`.
    at, touches, path: ids and points.   when: its conditions.   car: the address of the car in that state.
    way: the drawing that shows its path: that of the one circuit it stays in, else one of its own.
    """

    number: int
    severity: str
    rule: str
    label: str
    says: str
    whole: str
    at: tuple[str, ...]
    touches: tuple[str, ...]
    path: tuple[str, ...]
    circuits: tuple[str, ...]
    when: str
    car: str
    found: str
    allowed: str
    unit: str
    source: str
    mend: str
    folded: tuple[FindingLine, ...] = ()
    mends: str = ""
    way: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ProblemLine:
    """Something that has to fit first. where: the cell in words.   href: the cell in its grid."""

    where: str
    found: str
    allowed: str
    mend: str
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingsPage:
    """The page of findings.

    is_known: the check is done.   done, of: states meanwhile. [-]   ahead: other jobs checked before. [-]
    made_car: the rows fit each other.   searched: states the verdicts hold for. [-]
    total: findings there are before any is picked, those folded left out. [-]
    pins_missing: needs that have no pin yet. [-]
    filters: name of the question -> what can be picked.   sources: of the limits.   waived: rules switched off here.
    last: what was changed last.
    """

    is_known: bool
    stopped: bool
    done: int
    of: int
    ahead: int
    made_car: bool
    searched: int
    total: int
    pins_missing: int
    counts: tuple[tuple[str, int], ...]
    lines: tuple[FindingLine, ...]
    problems: tuple[ProblemLine, ...]
    filters: Mapping[str, tuple[Choice, ...]]
    pick: Pick
    sources: tuple[SourceNote, ...]
    waived: tuple[Waiver, ...]
    stop: str
    again: str
    links: JobLinks
    last: LastChange | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Lies:
    """In which circuits and places the things of a job are: id -> names. wires: each with its circuit."""

    circuits: Mapping[str, frozenset[str]] = field(default_factory=dict)
    wires: Mapping[str, str] = field(default_factory=dict)
    places: Mapping[str, frozenset[str]] = field(default_factory=dict)


def findings_page(
    snapshot: Snapshot, standing: Standing, links: JobLinks, pick: Pick, last: LastChange | None = None
) -> FindingsPage:
    """The page of a job's findings.

    Args:
        standing: how far its check is.
        pick: which findings are asked for.
        last: what was changed last, where it can be taken back.
    """
    findings = standing.checked.findings if standing.checked is not None else ()
    job = snapshot.job
    lies = _lies_of(job) if job is not None else _Lies()
    variables = variables_of(job, load_kinds()) if job is not None and findings else ()
    shown = [one for one in findings if _fits(one, pick, lies)]
    lines = tuple(_line(one, number, links, variables, lies) for number, one in enumerate(shown, start=1))
    return FindingsPage(
        is_known=standing.is_known,
        stopped=standing.stopped,
        done=standing.done,
        of=standing.of,
        ahead=standing.ahead,
        made_car=job is not None,
        searched=standing.checked.states_searched if standing.checked is not None else 0,
        pins_missing=0 if snapshot.job is None else len(pins_given_in(snapshot.job).missing),
        total=len(findings),
        counts=tuple((word, sum(one.severity == word for one in findings)) for word in _SEVERITIES),
        lines=lines,
        problems=tuple(_problem(one, snapshot, links) for one in standing.problems),
        filters=_filters(findings, pick, lies, links) if findings else {},
        pick=pick,
        sources=source_notes((line.source, line.number) for line in lines),
        waived=job.waived if job is not None else (),
        stop=links.findings().partition("?")[0] + "/stop",
        again=links.findings().partition("?")[0] + "/again",
        links=links,
        last=last,
    )


def line_of(finding: Finding, number: int, links: JobLinks) -> FindingLine:
    """One finding as it is told, without the job it is of.

    Args:
        number: that ties it to the margin. [-]
    """
    return _line(finding, number, links, (), _Lies())


def state_in(
    when: Iterable[tuple[str, str]], variables: Sequence[Variable]
) -> tuple[dict[str, str], dict[str, str], tuple[str, ...]]:
    """A state of the car in which conditions hold, the one it came from, and what is unplugged.

    Of several values the first is taken; of a figure the first value that is looked at on that side of the limit.

    Example:
        >>> key = Variable(name="key", values=("off", "run", "start"), rest="off")
        >>> coolant = Variable(name="coolant_c", values=("40", "90", "96"), rest="40", numeric=True)
        >>> state_in([("key", "run|start"), ("coolant_c", ">=95"), ("before.key", "run")], [key, coolant])
        ({'key': 'run', 'coolant_c': '96'}, {'key': 'run'}, ())
    """
    known = {variable.name: variable for variable in variables}
    state: dict[str, str] = {}
    before: dict[str, str] = {}
    unplugged: tuple[str, ...] = ()
    for name, text in when:
        if name == UNPLUGGED:
            unplugged = tuple(word for word in text.split("|") if word != "none")
            continue
        plain = name.removeprefix("before.")
        value = _value(text, known.get(plain))
        # what is no variable of the car (how loaded the rest of it is, say) cannot be set by hand
        if value and plain in known:
            (before if name.startswith("before.") else state)[plain] = value
    return state, before, unplugged


def _value(text: str, variable: Variable | None) -> str:
    if text[:1] not in "<>!=":
        return text.split("|")[0]
    sign = text[:2] if text[1:2] == "=" else text[:1]
    limit = text[len(sign) :]
    values = variable.values if variable is not None else ()
    if sign in ("!=", "="):
        return limit if sign == "=" else next((value for value in values if value != limit), "")
    fits = _COMPARED[sign]
    ordered = values if sign.startswith(">") else tuple(reversed(values))
    return next((value for value in ordered if fits(float(value), float(limit))), "")


def _lies_of(job: Job) -> _Lies:
    circuits: dict[str, frozenset[str]] = {one.id: frozenset({one.id}) for one in job.circuits}
    places: dict[str, frozenset[str]] = {one.id: frozenset({one.id}) for one in job.places}
    for part in job.parts:
        circuits[part.id] = frozenset({part.circuit} - {""})
        places[part.id] = frozenset({part.place} - {""})
    for wire in job.wires:
        ends = [end.partition(".")[0] for end in (wire.from_, wire.to) if end]
        circuits[wire.id] = frozenset({wire.circuit} - {""})
        places[wire.id] = frozenset().union(*(places.get(end, frozenset()) for end in ends))
    wires = {wire.id: wire.circuit for wire in job.wires if wire.fitted != "removed"}
    return _Lies(circuits=circuits, wires=wires, places=places)


def _of(names: Mapping[str, frozenset[str]], finding: Finding) -> frozenset[str]:
    """The circuits, or the places, that a finding touches with its own points."""
    return frozenset().union(
        *(names.get(one, names.get(one.partition(".")[0], frozenset())) for one in (*finding.at, *finding.touches))
    )


def _fits(finding: Finding, pick: Pick, lies: _Lies) -> bool:
    """Whether a finding, or one that is folded beneath it, is of all that is asked for: roots come first."""
    return _is_of(finding, pick, lies) or any(_fits(one, pick, lies) for one in finding.folded)


def _is_of(finding: Finding, pick: Pick, lies: _Lies) -> bool:
    return (
        (not pick.severity or finding.severity == pick.severity)
        and (not pick.stage or stage_of_rule(finding.rule) == pick.stage)
        and (not pick.circuit or pick.circuit in _of(lies.circuits, finding))
        and (not pick.place or pick.place in _of(lies.places, finding))
    )


def _filters(findings: Sequence[Finding], pick: Pick, lies: _Lies, links: JobLinks) -> dict[str, tuple[Choice, ...]]:
    seen_circuits = sorted(frozenset().union(*(_of(lies.circuits, one) for one in findings)), key=id_order)
    seen_places = sorted(frozenset().union(*(_of(lies.places, one) for one in findings)), key=id_order)
    seen_stages = {stage_of_rule(one.rule) for one in findings}
    values: dict[str, list[tuple[str, str]]] = {
        "severity": [(word, f"{word}s") for word in _SEVERITIES],
        "stage": [(key, word) for key, word in STAGE_WORDS.items() if key in seen_stages],
        "circuit": [(one, one) for one in seen_circuits],
        "place": [(one, one) for one in seen_places],
    }
    made = {}
    for name, choices in values.items():
        picked = getattr(pick, name)
        found = []
        for value, word in choices:
            asked = pick.with_(name, value)
            number = sum(_fits(one, Pick(**asked), lies) for one in findings)
            if number or value == picked:
                found.append(
                    Choice(
                        value=value,
                        word=word,
                        number=number,
                        is_picked=value == picked,
                        href=links.findings(**pick.with_(name, "" if value == picked else value)),
                    )
                )
        made[name] = tuple(found)
    return made


def _line(finding: Finding, number: int, links: JobLinks, variables: Sequence[Variable], lies: _Lies) -> FindingLine:
    state, before, unplugged = state_in(finding.when, variables)
    found, allowed = _figures(finding)
    label = finding.label or (finding.at[0] if finding.at else "")
    return FindingLine(
        number=number,
        severity=finding.severity,
        rule=finding.rule,
        label=label,
        says=finding.wrong.rstrip(".") if label else _capital(finding.wrong.rstrip(".")),
        whole=says(replace(finding, mend="")),
        at=finding.at,
        touches=finding.touches,
        path=finding.path,
        circuits=tuple(sorted(_of(lies.circuits, finding), key=id_order)),
        when=when_text(finding.when),
        car=links.car(state, before, unplugged) if finding.when else "",
        found=found,
        allowed=allowed,
        unit=finding.unit,
        source=finding.source,
        mend=finding.mend.rstrip("."),
        folded=tuple(_line(one, 0, links, variables, lies) for one in finding.folded),
        mends=links.mends(mark_of(finding)) if finding.severity != "note" else "",
        way=_way(finding, links, lies),
    )


def _way(finding: Finding, links: JobLinks, lies: _Lies) -> str:
    """Where the path of a finding is drawn."""
    through = {lies.wires[name] for name in finding.path if name in lies.wires}
    if not finding.path or (lies.wires and not through):
        return ""
    return links.way(mark_of(finding), next(iter(through)) if len(through) == 1 else "")


def _figures(finding: Finding) -> tuple[str, str]:
    """Found and allowed as printed, rounded away from each other."""
    found, allowed = finding.found, finding.allowed
    sides: tuple[Side, Side] = ("near", "near")
    if found is not None and allowed is not None and found != allowed:
        sides = ("up", "down") if found > allowed else ("down", "up")
    return (
        "" if found is None else for_print(found, side=sides[0]),
        "" if allowed is None else for_print(allowed, side=sides[1]),
    )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _problem(problem: Problem, snapshot: Snapshot, links: JobLinks) -> ProblemLine:
    row = "" if problem.row is None else f"row {problem.row}"
    key = snapshot.key_at(problem.sheet, problem.row) if problem.row is not None else None
    return ProblemLine(
        where=", ".join(word for word in (problem.sheet, row, problem.column) if word),
        found=problem.found,
        allowed=problem.allowed,
        mend=problem.mend,
        href=links.cell(problem.sheet, key, problem.column) if problem.sheet else "",
    )
