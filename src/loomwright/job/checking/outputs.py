"""Do the controller's pins, needs and drives name each other rightly?"""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.job.checking.look import Look, told
from loomwright.job.checking.points import has_point, point_problem
from loomwright.refusals import Problem

__all__ = ["check_drives", "check_needs", "check_pins"]


def check_pins(look: Look) -> Iterator[Problem]:
    """Pins that lead to, or are paired with, something that is not there."""
    if look.unread & {"controller_pins", "parts"}:
        return
    for index, pin in enumerate(look.job.controller_pins):
        own = {
            name for other in look.job.controller_pins if other.part == pin.part for name in (other.id, other.terminal)
        }
        target = pin.recirculates_to
        if target and target not in own and not has_point(look, target):
            yield look.unknown(
                "controller_pins",
                index,
                "recirculates_to",
                word=target,
                words=sorted(own),
                what=f"pins of {pin.part}, or a point",
                otherwise="Name the pin or the point its diode leads to",
            )
        if pin.pair and pin.pair not in own:
            yield look.unknown(
                "controller_pins",
                index,
                "pair",
                word=pin.pair,
                words=sorted(own),
                what=f"pins of {pin.part}",
                otherwise="Name the other pin of the bridge",
            )


def check_needs(look: Look) -> Iterator[Problem]:
    """Needs at a terminal or on a pin that is not there, or with an option that is no group/alternative."""
    pins = _pin_names(look)
    for index, need in enumerate(look.job.needs):
        if need.part in look.ids["parts"] and need.terminal:
            yield from point_problem(look, "needs", index, "terminal", f"{need.part}.{need.terminal}")
        if need.terminal and not need.part:
            yield look.problem(
                "needs",
                index,
                "part",
                found="",
                allowed="the part whose terminal it is",
                mend=f"Name the part that has the terminal {need.terminal}",
            )
        if need.option and not _is_option(need.option):
            allowed = "group/alternative, such as idle/stepper"
            yield look.problem(
                "needs", index, "option", found=need.option, allowed=allowed, mend="Write both with one stroke"
            )
        if "controller_pins" in look.unread:
            continue
        if need.pin and need.pin not in pins:
            otherwise = "Leave it blank to have it decided"
            yield look.unknown(
                "needs", index, "pin", word=need.pin, words=pins, what="controller pins", otherwise=otherwise
            )
        for word in need.prefer:
            if word not in pins and word not in look.ids["connectors"]:
                otherwise = "Take it out"
                yield look.unknown(
                    "needs", index, "prefer", word=word, words=pins, what="controller pins", otherwise=otherwise
                )


def check_drives(look: Look) -> Iterator[Problem]:
    """Drives of an output that is neither a pin nor a need."""
    if look.unread & {"controller_pins", "needs"}:
        return
    pins = {pin.id: None for pin in look.job.controller_pins}
    points = {f"{pin.part}.{pin.terminal}": None for pin in look.job.controller_pins}
    known = {**look.ids["needs"], **pins, **points}
    for index, drive in enumerate(look.job.drives):
        if drive.output and drive.output not in known:
            meant = look.nearest("needs or controller pins", drive.output, known)
            mend = f"Write {meant}" if meant else "Name a need, or a pin of the sheet controller_pins"
            allowed = told("needs or controller pins", [*look.ids["needs"], *pins])
            yield look.problem("drives", index, "output", found=drive.output, allowed=allowed, mend=mend)


def _pin_names(look: Look) -> dict[str, None]:
    """Every way to name a controller pin: its id, its point, its terminal."""
    names: dict[str, None] = {}
    for pin in look.job.controller_pins:
        names |= dict.fromkeys((pin.id, f"{pin.part}.{pin.terminal}", pin.terminal))
    return names


def _is_option(text: str) -> bool:
    group, stroke, alternative = text.partition("/")
    return bool(stroke and group.strip() and alternative.strip() and "/" not in alternative)
