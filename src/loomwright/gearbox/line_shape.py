"""What is wrong with the lines among themselves, whatever the car?

GEA-1 down at or above up; GEA-2 lines of neighbouring pairs cross; GEA-7 a line that falls as the pedal goes down;
GEA-15 a kick-down that goes to and fro, does nothing, or comes in ordinary driving.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

from loomwright.findings import Finding, Severity
from loomwright.gearbox.line_record import Lines, named_lines
from loomwright.gearbox.lines import line_at_kmh

__all__ = ["DUST", "on_line", "shape_findings"]

DUST = 1e-6
"""What rounding may leave over. [-]"""
_PERCENT = 100.0
_LEAST_GAP_KMH = 3.0  # published tables keep 2 to 4 km/h at light pedal; common practice
_LEAST_GAP_FRAC = 0.08
_LEAST_KICK_FRAC = 0.8  # common practice, no source


def shape_findings(lines: Lines) -> tuple[Finding, ...]:
    """Everything that is wrong with the lines among themselves."""
    return (*_crossed(lines), *_neighbours(lines), *_falling(lines), *_kicks(lines))


def on_line(
    lines: Lines,
    rule: str,
    severity: Severity,
    at: tuple[str, ...],
    index: Sequence[int],
    *,
    wrong: str,
    mend: str,
    found: float,
    allowed: float | None,
    unit: str = "km/h",
    source: str = "",
) -> Finding:
    """One thing that is wrong with a line, at some of its pedal breakpoints.

    Args:
        index: which of them; none of them is all of them. [-]
        found: what was found, in `unit`. [-]
        allowed: what may be there. [-]
    """
    pedals = [_PERCENT * lines.pedal_frac[k] for k in index]
    shown = f"{pedals[0]:g} %" if len(pedals) == 1 else f"{pedals[0]:g} to {pedals[-1]:g} %" if pedals else ""
    return Finding(
        rule=rule,
        severity=severity,
        at=at,
        when=(("programme", lines.programme), *((("pedal", shown),) if shown else ())),
        wrong=wrong,
        found=found,
        allowed=allowed,
        unit=unit,
        source=source,
        mend=mend,
    )


def _crossed(lines: Lines) -> Iterator[Finding]:
    for pair, (up, down) in enumerate(zip(lines.up_kmh, lines.down_kmh, strict=True), start=1):
        at = f"down {pair + 1}-{pair}", f"up {pair}-{pair + 1}"
        bad = [k for k, (high, low) in enumerate(zip(up, down, strict=True)) if low >= high]
        if bad:
            worst = max(bad, key=lambda k: down[k] - up[k])
            yield on_line(
                lines,
                "GEA-1",
                "fault",
                at,
                bad,
                wrong="the change down lies at or above the change up: it would go to and fro without end",
                found=down[worst],
                allowed=up[worst],
                mend=f"Bring {at[0]} at {lines.pedal_frac[worst] * _PERCENT:g} % pedal"
                f" below {_below(up[worst]):.0f} km/h",
            )
        near = [k for k in range(len(up)) if k not in bad and down[k] > _below(up[k]) + DUST]
        if near:
            worst = min(near, key=lambda k: up[k] - down[k])
            yield on_line(
                lines,
                "GEA-1",
                "warning",
                at,
                near,
                wrong="hardly any speed lies between up and down",
                found=up[worst] - down[worst],
                allowed=up[worst] - _below(up[worst]),
                source="common-practice",
                mend=f"Bring {at[0]} to {_below(up[worst]):.0f} km/h there, or raise the change up",
            )


def _below(up_kmh: float) -> float:
    return up_kmh - max(_LEAST_GAP_KMH, _LEAST_GAP_FRAC * up_kmh)


def _neighbours(lines: Lines) -> Iterator[Finding]:
    for kind in ("up", "down"):
        named = [one for one in named_lines(lines) if one.kind == kind]
        for low, high in itertools.pairwise(named):
            pairs = enumerate(zip(low.speeds_kmh, high.speeds_kmh, strict=True))
            bad = [k for k, (first, second) in pairs if second <= first]
            if bad:
                least_kmh = low.speeds_kmh[bad[0]]
                yield on_line(
                    lines,
                    "GEA-2",
                    "fault",
                    (low.name, high.name),
                    bad,
                    wrong="the lines of two pairs cross: a gear would be passed over",
                    found=high.speeds_kmh[bad[0]],
                    allowed=least_kmh,
                    mend=f"Raise {high.name} above {least_kmh:.0f} km/h at {lines.pedal_frac[bad[0]] * _PERCENT:g} %",
                )


def _falling(lines: Lines) -> Iterator[Finding]:
    for one in named_lines(lines):
        line = one.speeds_kmh
        falls = [k for k in range(1, len(line)) if line[k] < line[k - 1] - DUST] if one.kind in ("up", "down") else []
        if falls:
            yield on_line(
                lines,
                "GEA-7",
                "warning",
                (one.name,),
                falls,
                wrong="the line falls as the pedal goes down: more pedal would bring a higher gear",
                found=line[falls[0]],
                allowed=line[falls[0] - 1],
                mend="Let the speeds rise, or stay, from left to right",
            )


def _kicks(lines: Lines) -> Iterator[Finding]:
    for pair, (kick, up, down) in enumerate(zip(lines.kick_kmh, lines.up_kmh, lines.down_kmh, strict=True), start=1):
        at, last = (f"kick {pair + 1}-{pair}",), [len(up) - 1]
        usual_kmh = line_at_kmh(lines.pedal_frac, down, lines.kick_frac)
        if kick >= up[-1]:
            yield on_line(
                lines,
                "GEA-15",
                "fault",
                at,
                last,
                wrong=f"the kick-down takes gear {pair} where full pedal changes up again at once",
                found=kick,
                allowed=up[-1],
                mend=f"Bring it below {_below(up[-1]):.0f} km/h",
            )
        elif kick < usual_kmh - DUST:
            yield on_line(
                lines,
                "GEA-15",
                "note",
                at,
                [],
                wrong="the kick-down does nothing: the change down comes first",
                found=kick,
                allowed=usual_kmh,
                mend=f"Raise it above {usual_kmh:.0f} km/h, or leave it so where none is wanted",
            )
    if lines.kick_kmh and lines.kick_frac < _LEAST_KICK_FRAC - DUST:
        yield on_line(
            lines,
            "GEA-15",
            "warning",
            ("kick-down",),
            [],
            wrong="it comes in ordinary driving",
            found=_PERCENT * lines.kick_frac,
            allowed=_PERCENT * _LEAST_KICK_FRAC,
            unit="% pedal",
            source="common-practice",
            mend="Let it count from 85 to 95 % pedal on",
        )
