"""The list of the first start, the numbers and the verdict on the timing, as plain lists and words."""

from __future__ import annotations

from dataclasses import asdict

from loomwright.calibration.sensor_curves import SensorCurve
from loomwright.calibration.sensors import ProbeScale
from loomwright.calibration.start_records import StartNumber, StartTable
from loomwright.calibration.starting import StartNumbers
from loomwright.quantities.printing import for_print
from loomwright.startup.first_start import FirstStart, Limit, StartItem
from loomwright.startup.timing import Interval, Timing

__all__ = ["limit_words", "numbers_plain", "probe_plain", "sensor_plain", "start_plain", "timing_plain"]


def start_plain(made: FirstStart) -> dict[str, object]:
    """The list as plain lists and words."""
    return {
        "go": made.go,
        "emergency": made.emergency,
        "facts": list(made.facts),
        "attempts": made.attempts,
        "stages": [
            {
                "number": stage.number,
                "title": stage.title,
                "emergency": made.emergency,
                "cautions": list(stage.cautions),
                "open": stage.is_open,
                "left": stage.left,
                "items": [_item(item) for item in stage.items],
            }
            for stage in made.stages
        ],
    }


def numbers_plain(made: StartNumbers) -> dict[str, object]:
    """The numbers and tables as plain lists and words; none of them is more than a starting point."""
    return {
        "starting_point": True,
        "numbers": [{name: getattr(one, name) for name in StartNumber.__dataclass_fields__} for one in made.numbers],
        "tables": [{name: getattr(one, name) for name in StartTable.__dataclass_fields__} for one in made.tables],
        "asks": list(made.asks),
        "warns": list(made.warns),
    }


def probe_plain(found: ProbeScale) -> dict[str, object]:
    """How the controller's lambda lies to the display's, as plain lists and words."""
    return {
        "verdict": found.verdict,
        "says": found.says,
        "begin": round(found.begin, 6),
        "slope": round(found.slope, 6),
        "offset": round(found.offset, 6),
        "used": found.used,
        "left_out": [asdict(pair) | {"why": why} for pair, why in found.apart],
    }


def sensor_plain(made: SensorCurve) -> dict[str, object]:
    """A sensor's table as plain lists and words."""
    return {
        "table": {name: getattr(made.table, name) for name in StartTable.__dataclass_fields__},
        "worst": made.worst,
        "evenly_spread": made.even,
        "curve": None if made.curve is None else asdict(made.curve),
        "pull_up": None if made.pull_up is None else asdict(made.pull_up),
        "says": list(made.says),
    }


def timing_plain(found: Timing) -> dict[str, object]:
    """The verdict as plain lists and words."""
    return {
        "true": found.is_true,
        "offset_deg": _interval(found.offset),
        "delay_us": _interval(found.delay),
        "spread_deg": round(found.spread_deg, 4),
        "used": found.used,
        "set_apart": [
            {"reading": one.number, "rpm": one.reading.rpm, "seen_deg": one.reading.seen_deg, "why": one.why}
            for one in found.apart
        ],
        "mistakes": list(found.mistakes),
        "says": list(found.says),
    }


def limit_words(limit: Limit) -> str:
    """A limit in words, its source with it; where the source is all that is to say, once.

    Example:
        >>> limit_words(Limit(unit="°", least=8.0, most=12.0, expected=None, why="a", source="a"))
        '8 to 12° [a]'
        >>> limit_words(Limit(unit="", least=0.0, most=0.0, expected=None, why="as counted", source="a"))
        '0 (as counted) [a]'
    """
    low = "" if limit.least is None else for_print(limit.least)
    high = "" if limit.most is None else for_print(limit.most)
    unit = limit.unit if limit.unit == "°" else f" {limit.unit}"
    span = f"{low} to {high}{unit}" if low and high else f"{low}{unit} or more" if low else f"{high}{unit} at most"
    if low and low == high:
        span = f"{low}{unit}"
    if not (low or high):
        span = "worked out once the network is solved"
    why = "" if limit.why == limit.source else f" ({limit.why})"
    return f"{' '.join(span.split())}{why} [{limit.source}]"


def _interval(one: Interval | None) -> dict[str, float] | None:
    if one is None:
        return None
    return {"value": round(one.value, 4), "low": round(one.low, 4), "high": round(one.high, 4)}


def _item(item: StartItem) -> dict[str, object]:
    limit = item.limit
    return {
        "item": item.name,
        "does": item.does,
        "sees": item.sees,
        "fails": item.fails,
        "caution": item.caution or None,
        "source": item.source,
        "parts": list(item.parts),
        "may_be_waived": item.waivable,
        "limit": None
        if limit is None
        else {
            "unit": limit.unit,
            "least": limit.least,
            "most": limit.most,
            "expected": limit.expected,
            "why": limit.why,
            "source": limit.source,
        },
        "verdict": item.verdict or None,
        "value": item.value or None,
        "reason": item.reason or None,
    }
