"""What is wrong with the box itself: its solenoid table, what stays with the loom unplugged, what guards a person?

GEA-10 the solenoid table; GEA-11 the gear and the pressure left with no current; GEA-12 reverse at speed; GEA-13 the
selector; GEA-14 what is estimated or typical; GEA-16 hot mode; GEA-17 overdrive kept out while the fluid is cold.
"""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings import Finding, in_order
from loomwright.gearbox.box import Box, GearPattern, rpm_in, speed_in_kmh

__all__ = ["box_findings", "gear_unplugged"]

_REVERSE_MOST_KMH = 10.0  # common practice, no source
_ROAD_KMH = 100.0
_HOT_SPAN_C = (100.0, 130.0)  # common practice, no source
_MOST_COLD_C = 60.0  # below it every drive begins; common practice, no source


def box_findings(box: Box) -> tuple[Finding, ...]:
    """Everything that is wrong with the box, in order."""
    found = list(_reverse(box)) + list(_selector(box)) + list(_fluid(box)) + [_estimated(what) for what in box.extent]
    if box.pattern is None:
        found.append(
            Finding(
                rule="GEA-10",
                severity="warning",
                at=("solenoids",),
                wrong="no table says which solenoids each gear takes",
                mend="Take it from the gearbox maker's manual and type it under solenoids",
            )
        )
    else:
        found += [*_table(box, box.pattern), *_unplugged(box, box.pattern)]
    return in_order(found)


def gear_unplugged(box: Box) -> int | None:
    """The gear that is left with every solenoid off, as with the loom unplugged; None where no row of the table says.

    Example:
        >>> from loomwright.gearbox.box_reading import shipped_box
        >>> gear_unplugged(shipped_box())
        4
    """
    if box.pattern is None:
        return None
    return next((gear for gear, on in sorted(box.pattern.gears.items()) if not any(on)), None)


def _table(box: Box, pattern: GearPattern) -> Iterator[Finding]:
    for gear in range(1, len(box.ratios) + 1):
        if gear not in pattern.gears:
            yield Finding(
                rule="GEA-10",
                severity="fault",
                at=(f"gear {gear}",),
                wrong="the solenoid table has no row for it: it is never reached",
                mend=f"Type which solenoids are on in gear {gear}, from the maker's manual",
            )
    taken: dict[tuple[bool, ...], int] = {}
    for gear, on in sorted(pattern.gears.items()):
        if on in taken:
            yield Finding(
                rule="GEA-10",
                severity="fault",
                at=(f"gear {gear}", f"gear {taken[on]}"),
                wrong="the solenoid table gives both the same solenoids",
                mend="Read the table again from the maker's manual",
            )
        taken.setdefault(on, gear)
    for place, name in enumerate(pattern.names):
        states = {on[place] for on in pattern.gears.values()}
        if len(states) == 1:
            yield Finding(
                rule="GEA-10",
                severity="warning",
                at=(f"solenoid {name}",),
                wrong=f"it is {'on' if states.pop() else 'off'} in every gear: it decides nothing",
                mend="Read the table again, or take it out of the names where it is not a gear solenoid",
            )


def _unplugged(box: Box, pattern: GearPattern) -> Iterator[Finding]:
    gear = gear_unplugged(box)
    if gear is None:
        yield Finding(
            rule="GEA-11",
            severity="warning",
            at=("solenoids",),
            wrong="no row has every solenoid off, so nobody knows the gear that is left with the loom unplugged",
            mend="Find out from the maker's manual which gear that is, and tell the owner",
        )
    else:
        rpm = rpm_in(box, gear, _ROAD_KMH)
        is_low = rpm > box.engine.limit_rpm
        yield Finding(
            rule="GEA-11",
            severity="fault" if is_low else "note",
            at=(f"gear {gear}",),
            wrong=f"it is left with the loom unplugged: {rpm:.0f} 1/min at {_ROAD_KMH:.0f} km/h"
            + (", past the limit of the engine" if is_low else ""),
            mend=f"Tell the owner: it then pulls away in gear {gear}, slowly, and the fluid gets hot",
        )
    if pattern.pressure_unplugged != "full":
        yield Finding(
            rule="GEA-11",
            severity="fault" if pattern.pressure_unplugged else "warning",
            at=("pressure solenoid",),
            wrong="the line pressure is least with no current: the clutches would slip"
            if pattern.pressure_unplugged
            else "nobody knows what the line pressure does with no current",
            source="common-practice",
            mend="Loss of the wiring must mean full pressure: ask the maker's manual, measure on the gauge",
        )


def _reverse(box: Box) -> Iterator[Finding]:
    most = box.reverse_inhibit_kmh
    if box.reverse is None:
        return
    if most is None or most > _REVERSE_MOST_KMH:
        yield Finding(
            rule="GEA-12",
            severity="warning",
            at=("reverse",),
            wrong="it can be engaged at speed" if most is None else "it is let in at too high a speed",
            found=most,
            allowed=_REVERSE_MOST_KMH,
            unit="km/h",
            source="common-practice",
            mend="Set reverse_inhibit_kmh to 8, and prove on stands that it holds",
        )


def _selector(box: Box) -> Iterator[Finding]:
    if len(box.ratios) not in box.highest.values():
        yield Finding(
            rule="GEA-13",
            severity="fault",
            at=("selector",),
            wrong=f"no position lets the highest gear, {len(box.ratios)}, in",
            mend=f"Type the position that does, as D = {len(box.ratios)}",
        )
    for position, gear in box.highest.items():
        if gear < len(box.ratios):
            kmh = speed_in_kmh(box, gear, box.engine.limit_rpm)
            yield Finding(
                rule="GEA-13",
                severity="note",
                at=(f"selector {position}",),
                wrong=f"pulled at speed it must wait until gear {gear} can take it",
                allowed=kmh,
                unit="km/h",
                mend="Let the guard against too high a speed stand over the selector, too",
            )


def _fluid(box: Box) -> Iterator[Finding]:
    least, most = _HOT_SPAN_C
    hot_c, cold_c = box.heat.hot_c, box.heat.cold_c
    if not least <= hot_c <= most:
        is_late = hot_c > most
        yield Finding(
            rule="GEA-16",
            severity="warning",
            at=("hot mode",),
            wrong="it begins when the fluid has begun to burn" if is_late else "it begins in ordinary driving",
            found=hot_c,
            allowed=most if is_late else least,
            unit="°C",
            source="common-practice",
            mend=f"Set hot_c to {least:.0f} to {most:.0f} °C, or as the maker's manual says",
        )
    if cold_c > _MOST_COLD_C:
        yield Finding(
            rule="GEA-17",
            severity="warning",
            at=("overdrive",),
            wrong="it is kept out, and lock-up with it, while the fluid is warm enough",
            found=cold_c,
            allowed=_MOST_COLD_C,
            unit="°C",
            source="common-practice",
            mend=f"Set cold_c to {_MOST_COLD_C:.0f} °C or less: 18 °C in one published case",
        )


def _estimated(what: str) -> Finding:
    return Finding(
        rule="GEA-14",
        severity="note",
        at=("box",),
        wrong=what,
        mend="Put the measured figures into the file where you have them",
    )
