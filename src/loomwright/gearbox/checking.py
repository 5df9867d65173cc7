"""What is wrong with the lines of a programme in this car, before anybody drives them?

GEA-3 too fast for the lower gear after a change down; GEA-4 the engine lugs after a change; GEA-5 a gear that is never
reached or never used; GEA-6 up comes after the limit; GEA-8 lock-up lines; GEA-9 hunting; GEA-16 lock-up in hot mode;
GEA-17 overdrive that hunts and that nothing keeps out. The lines among themselves are asked in `line_shape`, the
solenoid table and the safety of the box in `box_checking`.
"""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings import Finding, in_order
from loomwright.gearbox.box import Box, guide_least_rpm, least_in_rpm, rpm_in, speed_in_kmh
from loomwright.gearbox.hunting import FOOT_MOVES_FRAC, STEEP_FRAC, Hunting, Patch, hunting
from loomwright.gearbox.line_record import Lines, NamedLine, named_lines
from loomwright.gearbox.line_shape import DUST, on_line, shape_findings
from loomwright.gearbox.machine import machine_of
from loomwright.gearbox.moving import HOT_LOCK_FRAC, drive_n, hold_n

__all__ = ["line_findings"]

_PERCENT = 100.0
_KMH = 3.6
_ROLLING_KMH = 3.0  # below it the car hardly rolls; our choice


def line_findings(box: Box, lines: Lines, maps: Hunting | None = None) -> tuple[Finding, ...]:
    """Everything that is wrong with the lines, in order.

    Args:
        maps: the hunting maps, where they are worked out already.
    """
    shape = shape_findings(lines)
    found = [*shape, *_revs(box, lines), *_locks(box, lines), *_never_reached(box, lines)]
    if not any(one.rule == "GEA-1" and one.severity == "fault" for one in shape):  # crossed lines hunt anywhere
        patches = (maps or hunting(box, lines)).patches
        found += [_hunts(lines, patch) for patch in patches]
        found += _overdrive(box, lines, patches)
    return in_order(found)


def _revs(box: Box, lines: Lines) -> Iterator[Finding]:
    for one in named_lines(lines):
        if one.kind in ("up", "down"):
            yield from _too_fast(box, lines, one)
            yield from _lugging(box, lines, one)
    for pair, kick in enumerate(lines.kick_kmh, start=1):
        yield from _too_fast(box, lines, NamedLine(f"kick {pair + 1}-{pair}", "down", pair + 1, (kick,)))


def _too_fast(box: Box, lines: Lines, one: NamedLine) -> Iterator[Finding]:
    """The lower gear of the pair may not be driven past the limit: after a change down, nor before one up."""
    is_up = one.kind == "up"
    lower = one.gear if is_up else one.gear - 1
    most_kmh = speed_in_kmh(box, lower, box.engine.limit_rpm)
    fast = [k for k, speed in enumerate(one.speeds_kmh) if speed > most_kmh + DUST]
    if fast:
        past = f"gear {lower} meets the limit of the engine before its change up"
        yield on_line(
            lines,
            "GEA-6" if is_up else "GEA-3",
            "fault",
            (one.name,),
            fast if len(one.speeds_kmh) > 1 else [len(lines.pedal_frac) - 1],
            wrong=past if is_up else f"the engine would be driven past its limit in gear {lower}",
            found=rpm_in(box, lower, one.speeds_kmh[fast[-1]]),
            allowed=box.engine.limit_rpm,
            unit="1/min",
            mend=f"Bring that line below {most_kmh:.0f} km/h",
        )


def _lugging(box: Box, lines: Lines, one: NamedLine) -> Iterator[Finding]:
    higher = one.gear + 1 if one.kind == "up" else one.gear
    least = least_in_rpm(box, higher)
    slow = [k for k, speed in enumerate(one.speeds_kmh) if rpm_in(box, higher, speed) < least - DUST]
    if slow:
        yield on_line(
            lines,
            "GEA-4",
            "warning",
            (one.name,),
            slow,
            wrong=f"the engine lugs in gear {higher}",
            found=rpm_in(box, higher, one.speeds_kmh[slow[0]]),
            allowed=least,
            unit="1/min",
            mend=f"Raise that line to {speed_in_kmh(box, higher, least):.0f} km/h",
        )


def _locks(box: Box, lines: Lines) -> Iterator[Finding]:
    for gear, (on, off) in enumerate(zip(lines.lock_kmh, lines.unlock_kmh, strict=True), start=1):
        if on[-1] <= 0.0:
            continue
        bad = [k for k in range(len(on)) if off[k] >= on[k]]
        if bad:
            yield on_line(
                lines,
                "GEA-8",
                "fault",
                (f"unlock {gear}", f"lock {gear}"),
                bad,
                wrong="the converter lets go at or above the speed it locks at",
                found=off[bad[0]],
                allowed=on[bad[0]],
                mend=f"Bring unlock {gear} a tenth below lock {gear}",
            )
        guide = guide_least_rpm(idle_rpm=box.engine.idle_rpm, rated_rpm=box.engine.rated_rpm, gear=max(gear, 3))
        slow = [k for k in range(len(on)) if rpm_in(box, gear, on[k]) < guide - DUST]
        if slow:
            yield on_line(
                lines,
                "GEA-8",
                "note",
                (f"lock {gear}",),
                slow,
                wrong="the converter locks at an engine speed that may drone",
                found=rpm_in(box, gear, on[slow[0]]),
                allowed=guide,
                unit="1/min",
                source="wltp-least-speed",
                mend=f"Raise lock {gear} to {speed_in_kmh(box, gear, guide):.0f} km/h, or feel for it on the road",
            )
        least = least_in_rpm(box, gear)
        hot = [k for k in range(len(on)) if HOT_LOCK_FRAC * rpm_in(box, gear, on[k]) < least - DUST]
        if hot:
            yield on_line(
                lines,
                "GEA-16",
                "warning",
                (f"lock {gear}",),
                hot,
                wrong=f"hot mode locks it at {_PERCENT * HOT_LOCK_FRAC:.0f} % of the line, where the engine lugs",
                found=HOT_LOCK_FRAC * rpm_in(box, gear, on[hot[0]]),
                allowed=least,
                unit="1/min",
                mend=f"Raise lock {gear} to {speed_in_kmh(box, gear, least / HOT_LOCK_FRAC):.0f} km/h",
            )


def _never_reached(box: Box, lines: Lines) -> Iterator[Finding]:
    """The lower gear must be able to bring the car to some point of the line on the flat, and first must be used."""
    machine = machine_of(box)
    for pair, up in enumerate(lines.up_kmh[: (lines.highest or len(box.ratios)) - 1], start=1):
        reached = False
        for pedal, speed in zip(lines.pedal_frac, up, strict=True):
            v = speed / _KMH
            turns = rpm_in(box, pair, speed) <= box.engine.limit_rpm
            reached = reached or (turns and drive_n(machine, v, pair, pedal, False)[0] > hold_n(machine, v, 0.0))
        if not reached:
            yield on_line(
                lines,
                "GEA-5",
                "fault",
                (f"up {pair}-{pair + 1}",),
                [],
                wrong=f"gear {pair + 1} is never reached on the flat, whatever the pedal does",
                found=min(up),
                allowed=None,
                mend=f"Lower the line until gear {pair} can pull the car to it",
            )
    standing = [k for k, speed in enumerate(lines.up_kmh[0]) if speed < _ROLLING_KMH] if lines.up_kmh else []
    if standing:
        yield on_line(
            lines,
            "GEA-5",
            "fault",
            ("gear 1", "up 1-2"),
            standing,
            wrong="the programme has no first gear: it is left before the car rolls",
            found=lines.up_kmh[0][standing[0]],
            allowed=_ROLLING_KMH,
            mend=f"Raise up 1-2 to {speed_in_kmh(box, 2, least_in_rpm(box, 2)):.0f} km/h or more",
        )


def _overdrive(box: Box, lines: Lines, patches: tuple[Patch, ...]) -> Iterator[Finding]:
    """A highest gear that hunts on ordinary hills needs a way to be kept out: a position, or a programme."""
    highest = len(box.ratios)
    held = {one for one in (*box.highest.values(), *(one.highest for one in box.programmes)) if one}
    if highest < 2 or box.ratios[-1] >= 1.0 or lines.highest or any(gear < highest for gear in held):
        return
    mild = [one for one in patches if one.lower == highest - 1 and one.is_ordinary]
    if mild:
        yield on_line(
            lines,
            "GEA-17",
            "warning",
            (f"gear {highest}",),
            [],
            wrong="overdrive goes to and fro on ordinary hills, and nothing keeps it out",
            found=_PERCENT * min(one.at_grade_frac for one in mild),
            allowed=_PERCENT * STEEP_FRAC,
            unit="% grade",
            mend=f"Give the selector a position with {highest - 1}, or a programme highest = {highest - 1}",
        )


def _hunts(lines: Lines, patch: Patch) -> Finding:
    low, high = patch.grade_frac
    pair = f"{patch.lower}-{patch.lower + 1}"
    is_kicked = patch.at_pedal_frac >= lines.kick_frac
    back = f"{'kick' if is_kicked else 'down'} {patch.lower + 1}-{patch.lower}"
    pressed = f"{patch.at_pedal_frac * _PERCENT:.0f} % pedal"
    if patch.is_held:
        how = f"{patch.at[0]:.0f} to {patch.at[1]:.0f} km/h kept"
        where = f"{patch.at_kmh:.0f} km/h up {patch.at_grade_frac * _PERCENT:.1f} %"
        mend = f"Lower {back}{'' if is_kicked else f' at {pressed}'} below {patch.at_kmh:.0f} km/h"
    else:
        how = f"{patch.at[0] * _PERCENT:.0f} to {patch.at[1] * _PERCENT:.0f} % pedal kept"
        where = f"{pressed} up {patch.at_grade_frac * _PERCENT:.1f} %"
        mend = f"Raise up {pair} or lower {back} at {pressed}"
    mend += ", choose a wider gap, or hold the gear by the selector on such hills"
    wrong = f"it goes to and fro between gears {patch.lower} and {patch.lower + 1}, from {where} on"
    if patch.falls_frac > FOOT_MOVES_FRAC:
        wrong += f"; its {patch.at_kmh:.0f} km/h fall by {patch.falls_frac * _PERCENT:.0f} % each time"
        mend = "A foot that follows the speed moves first; where something holds the pedal still, hold the gear instead"
    return Finding(
        rule="GEA-9",
        severity="warning" if patch.is_ordinary else "note",
        at=(f"up {pair}", back),
        when=(
            ("programme", lines.programme),
            ("grade", f"{low * _PERCENT:.1f} to {high * _PERCENT:.1f} %"),
            ("driver", how),
        ),
        wrong=wrong,
        found=patch.share * _PERCENT,
        unit="% of the map",
        mend=mend,
    )
