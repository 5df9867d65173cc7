"""Where do the controller's own cuts stand for the first runs, and what was taken of an engine because nobody said it?

The cut of engine speed lies well below the engine's limit at first, that of boost a little above the most that is
meant: both are tried at a low figure before they are relied upon, since a cut that was never seen to work is none. What
is usual and was not said is told by name, with what it is taken for: a compression that nobody looked up is somebody
else's engine.

Source: common practice, no source; 10 kPa over the boost that is meant are let pass on recorded drives as well.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from loomwright.calibration.engine import Engine
from loomwright.calibration.start_records import StartNumber

__all__ = ["BOOST_KPA", "cut_numbers", "taken_says"]

BOOST_KPA = 10.0
"""So far above the air's pressure an engine counts as boosted, and so far over what is meant boost is cut. [kPa]"""
_FIRST_FRAC = 0.65  # of the limit, for the first runs
_TRIED = "set it to 3000 once and see that it cuts, then to this; raise it once oil, mixture and knock have been seen"
_TRIED_BOOST = (
    "set it to the air's pressure once and see that it cuts; begin at the boost of the wastegate's spring alone"
)
_RESTS: Mapping[str, str] = MappingProxyType(
    {
        "compression": "the spark under load",
        "limit_rpm": "the cut of engine speed, the tables' ends",
        "peak_torque_rpm": "the fuel table's shape",
        "most_kpa": "the tables' ends: no boost",
        "fuel_kpa": "injector flow",
        "shots": "every pulse, 2 where all injectors open together each turn",
    }
)
"""Figure that is taken where nobody says it -> what it is taken for."""
_OF_INJECTORS = ("fuel_kpa", "shots")


def cut_numbers(engine: Engine) -> list[StartNumber]:
    """The cut of engine speed for the first runs, and that of boost where there is any."""
    limit, most = engine.at("limit_rpm"), engine.at("most_kpa")
    source = "common-practice"
    cuts = [
        StartNumber(
            name="speed_cut", says="engine speed at which fuel or spark is cut, first runs", value=_FIRST_FRAC * limit,
            least=0.5 * limit, most=limit, unit="1/min", formula=f"{_FIRST_FRAC:g} of the limit, {limit:g}",
            source=source, standing=_TRIED,
        )
    ]  # fmt: skip
    if most > engine.at("baro_kpa") + BOOST_KPA:
        cuts.append(
            StartNumber(
                name="boost_cut", says="manifold pressure at which fuel is cut", value=most + BOOST_KPA, least=most,
                most=most + 2.0 * BOOST_KPA, unit="kPa", formula=f"the most that is meant, {most:g}, and {BOOST_KPA:g}",
                source=source, standing=_TRIED_BOOST,
            )
        )  # fmt: skip
    return cuts


def taken_says(engine: Engine) -> list[str]:
    """What was taken for the engine because nobody said it, by name, with what it is taken for.

    Example:
        >>> from loomwright.calibration.engine import engine_of
        >>> taken_says(engine_of({"displacement_cc": 1998, "cylinders": 4, "compression": 10}))[0].partition(":")[0]
        'limit_rpm'
    """
    return [
        f"{name}: nobody says it, {engine.at(name):g} is taken for {rests}"
        for name, rests in _RESTS.items()
        if name not in engine.given and (name not in _OF_INJECTORS or engine.has("injector_cc_per_min"))
    ]
