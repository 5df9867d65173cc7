"""What is wrong with the lines of a programme, before anybody drives them?

GEA-1 down at or above up; GEA-2 lines of neighbouring pairs cross; GEA-3 too fast for the lower gear after a
change down;
GEA-4 the engine lugs after a change; GEA-5 a gear that is never reached; GEA-6 up comes after the limit; GEA-7
a line that
falls as the pedal goes down; GEA-8 lock-up lines; GEA-9 hunting. The solenoid table and the safety of the box are asked
in `box_checking`.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

from loomwright.findings import Finding, in_order
from loomwright.gearbox.box import Box, guide_least_rpm, least_in_rpm, rpm_in, speed_in_kmh
from loomwright.gearbox.hunting import Hunting, Patch, hunting
from loomwright.gearbox.lines import Lines
from loomwright.gearbox.moving import drive_n, hold_n, machine_of

__all__ = ["line_findings"]

_PERCENT = 100.0
_KMH = 3.6
_DUST = 1e-6
_LEAST_GAP_KMH = 3.0  # published tables keep 2 to 4 km/h at light pedal; common practice
_LEAST_GAP_FRAC = 0.08
_STEEP_FRAC = 0.08  # hunting on steeper hills only is a note


def line_findings(box: Box, lines: Lines, maps: Hunting | None = None) -> tuple[Finding, ...]:
    """Everything that is wrong with the lines, in order.

    Args:
        maps: the hunting maps, where they are worked out already.
    """
    found = [*_crossed(lines), *_neighbours(lines), *_revs(box, lines), *_falling(lines), *_locks(box, lines)]
    found += _never_reached(box, lines)
    if not any(one.rule == "GEA-1" and one.severity == "fault" for one in found):  # crossed lines hunt anywhere
        found += [_hunts(lines, patch) for patch in (maps or hunting(box, lines)).patches]
    return in_order(found)


def _places(lines: Lines, words: str, index: Sequence[int]) -> tuple[tuple[str, str], ...]:
    """The condition of a finding: the programme, and the pedal it holds at."""
    pedals = [lines.pedal_frac[k] * _PERCENT for k in index]
    shown = f"{pedals[0]:g} %" if len(pedals) == 1 else f"{pedals[0]:g} to {pedals[-1]:g} %"
    return (("programme", lines.programme), (words, shown))


def _crossed(lines: Lines) -> Iterator[Finding]:
    for pair, (up, down) in enumerate(zip(lines.up_kmh, lines.down_kmh, strict=True), start=1):
        names = f"{pair + 1}-{pair}", f"{pair}-{pair + 1}"
        bad = [k for k, (high, low) in enumerate(zip(up, down, strict=True)) if low >= high]
        if bad:
            worst = max(bad, key=lambda k: down[k] - up[k])
            yield Finding(
                rule="GEA-1",
                severity="fault",
                at=(f"down {names[0]}", f"up {names[1]}"),
                when=_places(lines, "pedal", bad),
                wrong="the change down lies at or above the change up: it would go to and fro without end",
                found=down[worst],
                allowed=up[worst],
                unit="km/h",
                mend=f"Bring down {names[0]} at {lines.pedal_frac[worst] * _PERCENT:g} % pedal"
                f" below {_below(up[worst]):.0f} km/h",
            )
        near = [k for k in range(len(up)) if k not in bad and down[k] > _below(up[k]) + _DUST]
        if near:
            worst = min(near, key=lambda k: up[k] - down[k])
            yield Finding(
                rule="GEA-1",
                severity="warning",
                at=(f"down {names[0]}", f"up {names[1]}"),
                when=_places(lines, "pedal", near),
                wrong="hardly any speed lies between up and down",
                found=up[worst] - down[worst],
                allowed=up[worst] - _below(up[worst]),
                unit="km/h",
                source="common-practice",
                mend=f"Bring down {names[0]} to {_below(up[worst]):.0f} km/h there, or raise the change up",
            )


def _below(up_kmh: float) -> float:
    return up_kmh - max(_LEAST_GAP_KMH, _LEAST_GAP_FRAC * up_kmh)


def _neighbours(lines: Lines) -> Iterator[Finding]:
    for word, table in (("up", lines.up_kmh), ("down", lines.down_kmh)):
        for pair, (low, high) in enumerate(itertools.pairwise(table), start=1):
            bad = [k for k, (first, second) in enumerate(zip(low, high, strict=True)) if second <= first]
            if bad:
                a, b = (pair, pair + 1) if word == "up" else (pair + 1, pair)
                names = f"{word} {a}-{b}", f"{word} {a + 1}-{b + 1}"
                yield Finding(
                    rule="GEA-2",
                    severity="fault",
                    at=names,
                    when=_places(lines, "pedal", bad),
                    wrong="the lines of two pairs cross: a gear would be passed over",
                    found=high[bad[0]],
                    allowed=low[bad[0]],
                    unit="km/h",
                    mend=f"Raise {names[1]} above {low[bad[0]]:.0f} km/h at {lines.pedal_frac[bad[0]] * _PERCENT:g} %",
                )


def _revs(box: Box, lines: Lines) -> Iterator[Finding]:
    limit = box.engine.limit_rpm
    for pair in range(1, len(box.ratios)):
        up, down = lines.up_kmh[pair - 1], lines.down_kmh[pair - 1]
        most_kmh = speed_in_kmh(box, pair, limit)
        fast = [k for k, speed in enumerate(down) if speed > most_kmh + _DUST]
        kick = lines.kick_kmh[pair - 1]
        if fast or kick > most_kmh + _DUST:
            speed = max([down[k] for k in fast] + [kick])
            yield Finding(
                rule="GEA-3",
                severity="fault",
                at=(f"down {pair + 1}-{pair}" if fast else f"kick {pair + 1}-{pair}",),
                when=_places(lines, "pedal", fast or [len(down) - 1]),
                wrong=f"the engine would be driven past its limit in gear {pair}",
                found=rpm_in(box, pair, speed),
                allowed=limit,
                unit="1/min",
                mend=f"Bring that line below {most_kmh:.0f} km/h",
            )
        late = [k for k, speed in enumerate(up) if speed > most_kmh + _DUST]
        if late:
            yield Finding(
                rule="GEA-6",
                severity="fault",
                at=(f"up {pair}-{pair + 1}",),
                when=_places(lines, "pedal", late),
                wrong=f"gear {pair} meets the limit of the engine before its change up",
                found=rpm_in(box, pair, up[late[-1]]),
                allowed=limit,
                unit="1/min",
                mend=f"Bring that line below {most_kmh:.0f} km/h",
            )
        least = least_in_rpm(box, pair + 1)
        for words, line in ((f"up {pair}-{pair + 1}", up), (f"down {pair + 1}-{pair}", down)):
            slow = [k for k, speed in enumerate(line) if rpm_in(box, pair + 1, speed) < least - _DUST]
            if slow:
                yield Finding(
                    rule="GEA-4",
                    severity="warning",
                    at=(words,),
                    when=_places(lines, "pedal", slow),
                    wrong=f"the engine lugs in gear {pair + 1}",
                    found=rpm_in(box, pair + 1, line[slow[0]]),
                    allowed=least,
                    unit="1/min",
                    mend=f"Raise that line to {speed_in_kmh(box, pair + 1, least):.0f} km/h",
                )


def _falling(lines: Lines) -> Iterator[Finding]:
    rows = [(f"up {k}-{k + 1}", line) for k, line in enumerate(lines.up_kmh, start=1)]
    rows += [(f"down {k + 1}-{k}", line) for k, line in enumerate(lines.down_kmh, start=1)]
    for name, line in rows:
        falls = [k for k in range(1, len(line)) if line[k] < line[k - 1] - _DUST]
        if falls:
            yield Finding(
                rule="GEA-7",
                severity="warning",
                at=(name,),
                when=_places(lines, "pedal", falls),
                wrong="the line falls as the pedal goes down: more pedal would bring a higher gear",
                found=line[falls[0]],
                allowed=line[falls[0] - 1],
                unit="km/h",
                mend="Let the speeds rise, or stay, from left to right",
            )


def _locks(box: Box, lines: Lines) -> Iterator[Finding]:
    for gear, (on, off) in enumerate(zip(lines.lock_kmh, lines.unlock_kmh, strict=True), start=1):
        if on[-1] <= 0.0:
            continue
        bad = [k for k in range(len(on)) if off[k] >= on[k]]
        if bad:
            yield Finding(
                rule="GEA-8",
                severity="fault",
                at=(f"unlock {gear}", f"lock {gear}"),
                when=_places(lines, "pedal", bad),
                wrong="the converter lets go at or above the speed it locks at",
                found=off[bad[0]],
                allowed=on[bad[0]],
                unit="km/h",
                mend=f"Bring unlock {gear} a tenth below lock {gear}",
            )
        guide = guide_least_rpm(idle_rpm=box.engine.idle_rpm, rated_rpm=box.engine.rated_rpm, gear=max(gear, 3))
        slow = [k for k in range(len(on)) if rpm_in(box, gear, on[k]) < guide - _DUST]
        if slow:
            yield Finding(
                rule="GEA-8",
                severity="note",
                at=(f"lock {gear}",),
                when=_places(lines, "pedal", slow),
                wrong="the converter locks at an engine speed that may drone",
                found=rpm_in(box, gear, on[slow[0]]),
                allowed=guide,
                unit="1/min",
                source="wltp-least-speed",
                mend=f"Raise lock {gear} to {speed_in_kmh(box, gear, guide):.0f} km/h, or feel for it on the road",
            )


def _never_reached(box: Box, lines: Lines) -> Iterator[Finding]:
    """The lower gear must be able to bring the car to some point of the line on the flat."""
    machine = machine_of(box)
    for pair, up in enumerate(lines.up_kmh, start=1):
        reached = False
        for pedal, speed in zip(lines.pedal_frac, up, strict=True):
            v = speed / _KMH
            turns = rpm_in(box, pair, speed) <= box.engine.limit_rpm
            reached = reached or (turns and drive_n(machine, v, pair, pedal, False)[0] > hold_n(machine, v, 0.0))
        if not reached:
            yield Finding(
                rule="GEA-5",
                severity="fault",
                at=(f"up {pair}-{pair + 1}",),
                when=(("programme", lines.programme),),
                wrong=f"gear {pair + 1} is never reached on the flat, whatever the pedal does",
                found=min(up),
                unit="km/h",
                mend=f"Lower the line until gear {pair} can pull the car to it",
            )


def _hunts(lines: Lines, patch: Patch) -> Finding:
    low, high = patch.grade_frac
    pair = f"{patch.lower}-{patch.lower + 1}"
    back = f"{patch.lower + 1}-{patch.lower}"
    if patch.is_held:
        how = f"{patch.at[0]:.0f} to {patch.at[1]:.0f} km/h kept"
        where = f"{patch.at_kmh:.0f} km/h up {patch.at_grade_frac * _PERCENT:.1f} %"
        mend = f"Lower down {back} at {patch.at_pedal_frac * _PERCENT:.0f} % pedal below {patch.at_kmh:.0f} km/h"
    else:
        how = f"{patch.at[0] * _PERCENT:.0f} to {patch.at[1] * _PERCENT:.0f} % pedal kept"
        where = f"{patch.at_pedal_frac * _PERCENT:.0f} % pedal up {patch.at_grade_frac * _PERCENT:.1f} %"
        mend = f"Raise up {pair} or lower down {back} at {patch.at_pedal_frac * _PERCENT:.0f} % pedal"
    return Finding(
        rule="GEA-9",
        severity="warning" if low < _STEEP_FRAC else "note",
        at=(f"up {pair}", f"down {back}"),
        when=(
            ("programme", lines.programme),
            ("grade", f"{low * _PERCENT:.1f} to {high * _PERCENT:.1f} %"),
            ("driver", how),
        ),
        wrong=f"it goes to and fro between gears {patch.lower} and {patch.lower + 1}, from {where} on",
        found=patch.share * _PERCENT,
        unit="% of the map",
        mend=mend + ", choose a wider gap, or hold the gear by the selector on such hills",
    )
