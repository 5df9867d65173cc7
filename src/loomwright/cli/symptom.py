"""`loomwright symptom`: a part does nothing; where to put a hand first, what to look at, what to read."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from loomwright.cli.asking import add_job, open_car
from loomwright.cli.printing import as_json, counted, show, show_hanging
from loomwright.cli.telling import telling
from loomwright.handover.symptom import SymptomAsked, condition_of
from loomwright.handover.symptom_causes import Cause, Symptom

__all__ = ["HELP", "add_arguments", "run", "symptom_plain"]

HELP = "a part does nothing: the few places to put a hand first, what to look at, what to read next"
_SHORT, _SHORT_FRAC = 7, 0.8
_FAULTS, _ALSO = 4, 6


def add_arguments(parser: ArgumentParser) -> None:
    """The words of the command."""
    add_job(parser)
    parser.add_argument(
        "dead", nargs="+", metavar="PART", help="what does nothing: a part, or one point of a larger one"
    )
    parser.add_argument(
        "--works",
        nargs="+",
        default=[],
        metavar="PART",
        help="what does work in the same state: leaves out what kills it",
    )
    parser.add_argument(
        "--state", default="", metavar="STATE", help="the car while it should work; the plainest one where left out"
    )
    parser.add_argument("--all", action="store_true", help="every place, not the short list alone")


def run(arguments: Namespace) -> int:
    """Run it; gives the exit code."""
    asked = SymptomAsked(dead=arguments.dead, works=arguments.works, when=condition_of(arguments.state))
    found = open_car(arguments.job).symptom(asked, telling("faults"))
    if arguments.json:
        as_json(symptom_plain(found))
    else:
        _show(found, arguments)
    return 0


def symptom_plain(found: Symptom) -> dict[str, object]:
    """The answer as plain lists and words."""
    return {
        "dead": list(found.dead),
        "when": found.when,
        "sound_a": round(found.amps, 3),
        "faults": found.faults,
        "faults_tried": found.tried,
        "causes": [
            {
                "sort": one.sort,
                "at": one.at,
                "says": one.says,
                "where": one.where,
                "faults": list(one.faults),
                "raised_by": list(one.why),
                "also_dead": list(one.also),
                "share": round(one.odds, 4),
            }
            for one in found.causes
        ],
        "looks": [
            {
                "part": one.part,
                "name": one.name,
                "left_if_works": round(one.works, 4),
                "left_if_dead": round(one.dead, 4),
            }
            for one in found.looks
        ],
        "next": [
            {
                "point": one.point,
                "to": one.to,
                "measure": one.measure,
                "expected": round(one.expected, 4),
                "does": one.says,
            }
            for one in found.next
        ],
    }


def _show(found: Symptom, arguments: Namespace) -> None:
    when = found.when or "everything at rest"
    show_hanging(
        f"{' and '.join(arguments.dead)}: dead, though with {when} {found.dead[0]} should carry {found.amps:.1f} A.",
        "    ",
    )
    if not found.causes:
        show("No single fault explains it: look for two, or ask again which of the parts do work.")
        return
    places = counted(len(found.causes), "place")
    show(f"{found.faults} of {found.tried} single faults explain it, at {places}. Put a hand there first:")
    shown, share = found.causes if arguments.all else _short(found.causes), 0.0
    for one in shown:
        share += one.odds
        _show_cause(one)
    if left := len(found.causes) - len(shown):
        show(f"{100 * (1 - share):3.0f} %  at {counted(left, 'other place')}; --all tells them.")
    for number, look in enumerate(found.looks):
        lead = "Look first: " if number == 0 else "        or: "
        show_hanging(
            f"{lead}{look.part} ({look.name}) in the same state. If it works, --works {look.part} leaves"
            f" {100 * look.works:.0f} %; if it is dead too, {100 * look.dead:.0f} %.",
            " " * 12,
        )
    for number, point in enumerate(found.next[:3]):
        show_hanging(f"{'Read next: ' if number == 0 else '       or: '}{point.says}.", " " * 11)
    if any(one.sort == "fuse" for one in shown):
        show_hanging(
            "A fuse that has blown blew for a reason: read its outlet against the body before a new one goes in.", ""
        )
    show_hanging(
        "Ordered by how often such faults are met, nearness, hands and age: judgement of the trade. A fault is proved"
        " by mending it and reading again.",
        "",
    )


def _short(causes: tuple[Cause, ...]) -> tuple[Cause, ...]:
    share = 0.0
    for number, one in enumerate(causes, start=1):
        share += one.odds
        if share >= _SHORT_FRAC or number == _SHORT:
            return causes[:number]
    return causes


def _show_cause(one: Cause) -> None:
    where = f" - {one.where}" if one.where else ""
    show_hanging(f"{100 * one.odds:3.0f} %  {one.says}{where}", " " * 7)
    more = f"; {len(one.faults) - _FAULTS} more" if len(one.faults) > _FAULTS else ""
    why = f" ({', '.join(one.why)})" if one.why else ""
    show_hanging(f"       {'; '.join(one.faults[:_FAULTS])}{more}{why}", " " * 7)
    if one.also:
        rest = f" and {len(one.also) - _ALSO} more" if len(one.also) > _ALSO else ""
        show_hanging(f"       then dead too: {' '.join(one.also[:_ALSO])}{rest}", " " * 7)
