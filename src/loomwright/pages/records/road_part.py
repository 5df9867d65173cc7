"""What does a recorded drive laid over the gear-change lines say, on their page?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loomwright.gearbox.road_log import RoadChange, road_says
from loomwright.gearbox.road_ratio import RoadRatio, ratio_says, ratio_wrong

__all__ = ["NO_ROAD", "RoadDrive", "RoadFar", "RoadPart", "road_part"]

_PERCENT = 100.0
_MOST_FAR = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class RoadDrive:
    """A recorded drive that may be laid over the lines."""

    name: str
    href: str
    is_here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class RoadFar:
    """A change that lies far from its line, printed."""

    at: str
    line: str
    kmh: str
    pedal: str
    line_kmh: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RoadPart:
    """That part of the page. says: line by line.   far: the changes that lie far off.   more: of those not shown.

    wrong: what engine speed, road speed and ratios do not agree in.   told: why nothing is laid over them.
    reading: the drive is being read.   off: where no drive is laid over them.
    """

    drives: tuple[RoadDrive, ...] = ()
    changes: tuple[RoadChange, ...] = ()
    says: tuple[str, ...] = ()
    wrong: tuple[str, ...] = ()
    far: tuple[RoadFar, ...] = ()
    more: int = 0
    told: str = ""
    reading: bool = False
    off: str = ""


NO_ROAD = RoadPart()


def road_part(
    drives: Sequence[RoadDrive],
    changes: Sequence[RoadChange] = (),
    ratios: Sequence[RoadRatio] = (),
    *,
    told: str = "",
    reading: bool = False,
    off: str = "",
) -> RoadPart:
    """A drive's changes, printed.

    Args:
        drives: that are kept with the job.
        changes: of the one that is laid over the lines.
        ratios: how fast its engine turned in each gear.
        told: why there are none.
        reading: it is being read.
        off: the page without a drive.
    """
    far = [one for one in changes if one.is_far]
    return RoadPart(
        drives=tuple(drives),
        changes=tuple(changes),
        says=(*road_says(changes), *ratio_says(ratios)),
        wrong=ratio_wrong(ratios),
        far=tuple(
            RoadFar(
                at=f"{one.at_s:.1f}",
                line=one.name,
                kmh=f"{one.kmh:.0f}",
                pedal=f"{_PERCENT * one.pedal_frac:.0f}",
                line_kmh=f"{one.line_kmh:.0f}",
            )
            for one in far[:_MOST_FAR]
        ),
        more=max(0, len(far) - _MOST_FAR),
        told=told,
        reading=reading,
        off=off,
    )
