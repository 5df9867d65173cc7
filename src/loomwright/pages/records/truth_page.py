"""What does the page of a truth table say: the question, and what the points do in every combination?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.car import Car
from loomwright.handover.truth_sheet import changed_by_history, note_words, truth_says
from loomwright.job.vehicle import vehicle_of
from loomwright.network.records import Changes
from loomwright.pages.addresses import JobLinks, job_path, state_text
from loomwright.pages.records.state_asked import StateAsked
from loomwright.pages.records.state_words import amps_text, volts_text
from loomwright.refusals import Refusal
from loomwright.states.asking.cones import cones_of
from loomwright.states.truth.asked import AskedPoint, AskedVariable, asked_points, asked_variables, deciding_variables
from loomwright.states.truth.table import TruthCell, TruthRow, TruthTable, truth_table

__all__ = ["TruthAsked", "TruthLine", "TruthPage", "truth_of", "truth_page"]

_MOST = 512
_MOST_UNASKED = 64
_ENERGISED = frozenset({"live", "works", "carries", "gives", "takes", "pulled", "alive"})
_OFF = "\N{EN DASH}"


@dataclass(frozen=True, slots=True, kw_only=True)
class TruthAsked:
    """The question as typed. at: the state of what is not gone over, with the state before and what is unplugged."""

    points: str
    over: str
    at: StateAsked

    def query(self, **other: str) -> dict[str, str]:
        """The address's questions, some of them changed."""
        at = {"at": state_text(self.at.state), "before": state_text(self.at.before)}
        return {"points": self.points, "over": self.over, **at, "unplug": ",".join(self.at.unplugged), **other}


@dataclass(frozen=True, slots=True, kw_only=True)
class CellShown:
    """One cell. word: what it does.   figure: printed.   on: told in copper."""

    word: str
    figure: str
    on: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TruthLine:
    """One combination. values: with True where the row above says the same.   href: the car in that state.

    before: the state that changes it, in words, with what is then; href_before: the car come to from there.
    """

    values: tuple[tuple[str, bool], ...]
    cells: tuple[CellShown, ...]
    href: str
    before: str
    then: str
    href_before: str
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class VariableOffered:
    """A variable that could be gone over. href: the same question, with it or without it."""

    name: str
    values: str
    is_in: bool
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PointHead:
    """The heading of a point. what: volts, amps, relay, controller."""

    name: str
    what: str
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TruthPage:
    """The page. says: sentences about the table.   refused: why there is none.   workbook: where it is had as a file.

    remembers: some row is another when it is come to from elsewhere.
    """

    action: str
    points: str
    over: str
    at: str
    before: str
    unplug: str
    names: tuple[str, ...]
    offered: tuple[VariableOffered, ...]
    variables: tuple[str, ...]
    heads: tuple[PointHead, ...]
    lines: tuple[TruthLine, ...]
    says: tuple[str, ...]
    refused: str
    workbook: str
    remembers: bool
    example: str
    example_href: str


def truth_of(car: Car, asked: TruthAsked) -> TruthTable | None:
    """The table that is asked for; None where no point is named.

    Raises:
        OutOfReach: a point, variable or value that the car does not have, or too many combinations.
    """
    if not asked.points.strip():
        return None
    state = {**asked.at.state, **asked.at.before}
    plain = asked.at.changes == Changes() and car.knows(state)
    compiled = car.compiled if plain else car.compiled_with(asked.at.changes, state)
    points = asked_points(compiled, asked.points)
    over: tuple[AskedVariable, ...] = asked_variables(compiled, asked.over) if asked.over.strip() else ()
    if not over:
        cones = car.scene.cones if plain else cones_of(compiled)
        over = deciding_variables(compiled, cones, points, most=_MOST_UNASKED)
    return truth_table(
        compiled,
        points,
        over,
        at=asked.at.state,
        before=asked.at.before or None,
        system_v=vehicle_of(car.filled).system_v,
        most=_MOST,
    )


def truth_page(car: Car, asked: TruthAsked, links: JobLinks) -> TruthPage:
    """The page for a question."""
    refused, table = "", None
    try:
        table = truth_of(car, asked)
    except Refusal as refusal:
        refused = str(refusal)
    here = job_path(links.job, "truth")
    example = _example(car)
    gone_over = table.variables if table else tuple(name.partition("=")[0].strip() for name in asked.over.split(","))
    return TruthPage(
        action=here,
        points=asked.points,
        over=asked.over or (",".join(table.variables) if table else ""),
        at=state_text(asked.at.state),
        before=state_text(asked.at.before),
        unplug=",".join(asked.at.unplugged),
        names=tuple(sorted({part.id for part in car.filled.parts if part.fitted != "removed"})),
        offered=_offered(car, asked, gone_over, links.job),
        variables=table.variables if table else (),
        heads=tuple(_head(point, links) for point in table.points) if table else (),
        lines=_lines(table, asked.at, links, {one.name: one.rest for one in car.variables}) if table else (),
        says=truth_says(table) if table else (),
        refused=refused,
        workbook=job_path(links.job, "truth", "table.xlsx", query=asked.query()) if table else "",
        remembers=any(row.other is not None for row in table.rows) if table else False,
        example=example,
        example_href=job_path(links.job, "truth", query={"points": example}) if example else "",
    )


def _example(car: Car) -> str:
    """Three things worth asking about: a controller, a relay and a load of the car, as many as there are."""
    network = car.compiled.network
    firsts = [
        next((device.name.partition(".")[0] for device in network.devices if device.what == what), "")
        for what in ("alive", "relay")
    ]
    firsts.append(next((element.part for element in network.elements if element.load and element.rated_a), ""))
    return ",".join(dict.fromkeys(name for name in firsts if name))


def _offered(car: Car, asked: TruthAsked, gone_over: tuple[str, ...], job: str) -> tuple[VariableOffered, ...]:
    """Every variable, with the address that puts it in or leaves it out; values that were named stay."""
    typed = [piece.strip() for piece in asked.over.split(",") if piece.strip()] or [name for name in gone_over if name]
    found = []
    for variable in car.variables:
        if len(variable.values) < 2:
            continue
        is_in = variable.name in gone_over
        others = [piece for piece in typed if piece.partition("=")[0].strip() != variable.name]
        over = ",".join(others if is_in else [*others, variable.name])
        found.append(
            VariableOffered(
                name=variable.name,
                values=" ".join(variable.values),
                is_in=is_in,
                href=job_path(job, "truth", query=asked.query(over=over)) if asked.points and over else "",
            )
        )
    return tuple(found)


def _head(point: AskedPoint, links: JobLinks) -> PointHead:
    what = {"alive": "controller"}.get(point.what, point.what)
    return PointHead(name=point.name, what=what, href=links.thing(point.name))


def _lines(table: TruthTable, at: StateAsked, links: JobLinks, rests: Mapping[str, str]) -> tuple[TruthLine, ...]:
    lines: list[TruthLine] = []
    above: tuple[str, ...] = ()
    for row in table.rows:
        same = [row.values[: k + 1] == above[: k + 1] for k in range(len(row.values))]
        state = {name: value for name, value in table.state_of(row).items() if value != rests.get(name)}
        other = row.other
        lines.append(
            TruthLine(
                values=tuple(zip(row.values, same, strict=True)),
                cells=tuple(_shown(cell) for cell in row.cells),
                href=links.car(state, at.before, at.unplugged),
                before="" if other is None else _words(other.before),
                then="" if other is None else _then(table, row),
                href_before="" if other is None else links.car(state, other.before, at.unplugged),
                notes=note_words(row),
            )
        )
        above = row.values
    return tuple(lines)


def _then(table: TruthTable, row: TruthRow) -> str:
    return ", ".join(changed_by_history(table.points, row))


def _words(state: Mapping[str, str]) -> str:
    return ", ".join(f"{name} {value}" for name, value in state.items())


def _shown(cell: TruthCell) -> CellShown:
    word = _OFF if cell.word == "none" else cell.word
    figure = ""
    if cell.number is not None and cell.word not in ("none", "floating"):
        figure = volts_text(cell.number) if cell.unit == "V" else _signed(cell.number)
    return CellShown(word=word, figure=figure, on=cell.word in _ENERGISED)


def _signed(amps: float) -> str:
    return ("\N{MINUS SIGN}" if amps < 0.0 else "") + amps_text(amps)
