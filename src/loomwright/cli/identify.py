"""`loomwright identify`: what each old wire is, how sure, what to read next, what becomes of it."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from loomwright.car import Car
from loomwright.cli.asking import add_job, known, open_given
from loomwright.cli.export import known_ending, write_out
from loomwright.cli.printing import as_json, counted, show, show_hanging
from loomwright.refusals import OutOfReach
from loomwright.survey.plain import survey_plain
from loomwright.survey.plan_rows import into_plan
from loomwright.survey.records import NextReading, OldWireSaid, Survey

__all__ = ["HELP", "add_arguments", "run"]

HELP = "what each old wire is, how sure, what to read next, what becomes of it"

_HANG = "      "


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument("wires", nargs="*", metavar="WIRE", help="named right after the job: only these are told")
    parser.add_argument("--plan", default="", metavar="WIRE", help="put this old wire into the plan; needs --out")
    parser.add_argument("--to", default="", metavar="POINT", help="the point of the new loom it is joined to")
    parser.add_argument("--out", default="", metavar="JOB", help="where the job with it is written")
    parser.add_argument("--over", action="store_true", help="replace the job that is there")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code: 1 where a reading is asked about."""
    if bool(arguments.plan) != bool(arguments.out):
        raise OutOfReach("--plan", arguments.plan, "--plan WIRE together with --out JOB")
    opened = open_given(arguments.job)
    car = Car(opened.job)
    survey = car.survey()
    known("old wire", arguments.wires, survey.odds)
    if arguments.plan:
        known("old wire", [arguments.plan], survey.odds)
        known_ending(Path(arguments.out))
        planned = into_plan(car.job, survey, arguments.plan, arguments.to, car.kinds)
        write_out(replace(opened, job=planned), Path(arguments.out), is_over=arguments.over)
    if arguments.json:
        plain = survey_plain(_only(survey, arguments.wires))
        as_json(plain | ({"written": arguments.out} if arguments.plan else {}))
    else:
        for line in _lines(_only(survey, arguments.wires)):
            show_hanging(line, _HANG)
        if arguments.plan:
            show(f"wrote {arguments.out}, with {arguments.plan} in the plan")
    return int(bool(survey.queries))


def _only(survey: Survey, wires: list[str]) -> Survey:
    if not wires:
        return survey
    return replace(
        survey,
        wires=tuple(each for each in survey.wires if each.id in wires),
        odds={wire: odds for wire, odds in survey.odds.items() if wire in wires},
        queries=tuple(each for each in survey.queries if each.wire in wires),
        following=tuple(each for each in survey.following if each.wire in wires),
    )


def _lines(survey: Survey) -> Iterator[str]:
    if not survey.wires:
        yield "no old wires yet: add rows to the sheet old_wires, or read one with loomwright read"
        return
    for wire in survey.wires:
        yield from _wire(wire)
    if survey.queries:
        yield "ask about"
        yield from (f"  {query.says}." for query in survey.queries)
    if survey.following:
        yield "read next, most told for least trouble"
        yield from (f"  {_reading(each)}" for each in survey.following)
    called = sum(wire.is_called for wire in survey.wires)
    yield f"{counted(len(survey.wires), 'old wire')}, {called} sure enough for the plan"
    yield "Nothing here is certain: before anything is joined, prove it live."


def _wire(wire: OldWireSaid) -> Iterator[str]:
    where = ", ".join(word for word in (wire.colour, wire.place, f"{wire.stub} stub" if wire.stub else "") if word)
    guesses = "; ".join(f"{each.words} {_percent(each.odds_frac)}" for each in wire.guesses)
    yield f"{wire.id}{f' ({where})' if where else ''}: {guesses}: {wire.how_sure}"
    for caution in wire.cautions:
        yield f"    caution: {caution.says}."
    fate = wire.fate
    typed = f" (in the sheet: {fate.typed})" if fate.typed and fate.typed != fate.fate else ""
    yield f"    {fate.fate}{typed}: {fate.reason}"
    if wire.change_mind:
        yield f"    would tell most: {wire.change_mind.words}"


def _reading(each: NextReading) -> str:
    place = f" at {each.place}" if each.place else ""
    warning = f"; {each.warning}" if each.warning else ""
    return f"{each.wire}{place}: {each.words} ({each.bits:.2f} bits, {each.minutes:.1f} min){warning}"


def _percent(odds_frac: float) -> str:
    """Odds for print: never a round hundred."""
    if odds_frac > 0.99:
        return "over 99 %"
    return "under 1 %" if odds_frac < 0.01 else f"{round(100 * odds_frac)} %"
