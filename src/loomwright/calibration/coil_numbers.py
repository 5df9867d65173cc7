"""How long is this engine's coil charged at which volts, running and cranking, and what is wrong with that?

With a ballast the coil runs through it, so R is both; where a by-pass takes the ballast out while cranking there is a
dwell of its own for that, with R of the coil alone and the volts that the solved network gives there. What the wires
lose is measured before the ballast, which is no wire: below 12 V what they lose while cranking, else while running.

Source: as in `calibration.dwell`.
"""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.calibration.dwell import CHARGES, Dwell, charged_a, dwell_ms, dwell_rows, energy_mj
from loomwright.calibration.engine import Engine
from loomwright.calibration.start_records import StartNumber, StartTable, Supply, number_of

__all__ = ["coil_numbers"]

_CHARGED_V = 12.0
_RUNNING_V = 13.0
_CHARGING_V = 14.0
_START_WITH = "start with nine tenths of it; look at the current with a clamp, hot"


def coil_numbers(engine: Engine, supplies: Sequence[Supply]) -> tuple[list[StartNumber], StartTable, list[str]]:
    """The dwell table of an engine's coil, its dwell while cranking past a ballast, and what looks wrong.

    Args:
        engine: with its coil known.
        supplies: volts in the states of the job, where there is one.
    """
    mh, ohm, peak = engine.at("coil_mh"), engine.at("coil_ohm"), engine.at("coil_a")
    found = _dwells(engine, supplies)
    past_v = next((each.bypass_v for each in supplies if each.bypass_v is not None), None)
    numbers = []
    if past_v is not None:
        cranking = dwell_ms(past_v - engine.at("switch_drop_v"), mh=mh, ohm=ohm, peak_a=peak)
        if cranking is not None:
            formula = f"-(L/R) ln(1 - I R / (V - Vd)), R = {ohm:g} ohm, the coil's alone"
            says = f"dwell while cranking, {past_v:.3g} V past the ballast"
            numbers.append(number_of("dwell_cranking", says, cranking, "ms", formula, "worked-out", 0.1, _START_WITH))
    rows = []
    for one in found:
        past_ms = dwell_ms(one.coil_v, mh=mh, ohm=ohm, peak_a=peak)
        cells = (one.supply_v, round(one.coil_v, 2), _rounded(one.dwell_ms, 3), _rounded(one.most_rpm, 0))
        rows.append((*cells, _rounded(past_ms, 3)) if numbers else cells)
    ballast = engine.at("ballast_ohm")
    r_says = f", R = coil {ohm:g} + ballast {ballast:g} ohm" if ballast else ""
    table = StartTable(
        name="dwell",
        says=f"charging time to {peak:g} A, {energy_mj(mh, peak):.0f} mJ; blank: never reached; speed it has time for",
        columns=("supply_v", "coil_v", "dwell_ms", "most_rpm", *(("past_ms",) if numbers else ())),
        rows=tuple(rows),
        unit="ms",
        formula=f"-(L/R) ln(1 - I R / (V - Vd - V wires)){r_says}",
        source=f"physics; driver's drop from memory; {_lost_says(supplies)}",
        standing=_START_WITH,
    )
    return numbers, table, _warns(engine, found, is_past=bool(numbers))


def _dwells(engine: Engine, supplies: Sequence[Supply]) -> list[Dwell]:
    """Dwell at each of the volts of the engine, running."""
    charges = CHARGES[engine.words["coils"]] or int(engine.at("cylinders"))
    found: list[Dwell] = []
    for supply_v in engine.lists["volts"]:
        found += dwell_rows(
            [supply_v],
            mh=engine.at("coil_mh"),
            ohm=engine.at("coil_ohm") + engine.at("ballast_ohm"),
            peak_a=engine.at("coil_a"),
            charges=charges,
            drop_v=engine.at("switch_drop_v"),
            wires_v=_lost_v(supplies, is_cranking=supply_v < _CHARGED_V),
        )
    return found


def _lost_v(supplies: Sequence[Supply], *, is_cranking: bool) -> float:
    meant = [one for one in supplies if ("cranking" in one.state) == is_cranking] or supplies
    return max((max(one.controller_v - one.coil_v, 0.0) for one in meant), default=0.0)


def _lost_says(supplies: Sequence[Supply]) -> str:
    if not supplies:
        return "wires not looked at"
    cranking, running = (_lost_v(supplies, is_cranking=each) for each in (True, False))
    return f"{cranking:.2g} V in the wires below {_CHARGED_V:g} V, {running:.2g} V above, from the solved network"


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits)


def _warns(engine: Engine, found: Sequence[Dwell], *, is_past: bool) -> list[str]:
    """What looks wrong. is_past: volts of a start are met by the by-pass."""
    peak, limit = engine.at("coil_a"), engine.at("limit_rpm")
    least_v = _CHARGED_V if is_past else 0.0
    weak = ", ".join(f"{one.supply_v:g}" for one in found if one.dwell_ms is None and one.supply_v >= least_v)
    short = ", ".join(
        f"{one.most_rpm:.0f}/min at {one.supply_v:g} V"
        for one in found
        if one.most_rpm is not None and one.supply_v >= _RUNNING_V and one.most_rpm < limit
    )
    warns = []
    if weak:
        warns.append(f"At {weak} V the coil never reaches {peak:g} A: it stays weak there, no dwell mends that")
    if short:
        warns.append(f"There is time for the dwell only up to {short}: it is cut short above{_left(engine, found)}")
    return warns


def _left(engine: Engine, found: Sequence[Dwell]) -> str:
    """What is left of the spark at the limit, where the dwell is cut short, in words."""
    one = min(found, key=lambda each: abs(each.supply_v - _CHARGING_V))
    charges = CHARGES[engine.words["coils"]] or int(engine.at("cylinders"))
    ohm, limit = engine.at("coil_ohm") + engine.at("ballast_ohm"), engine.at("limit_rpm")
    amps = charged_a(one.coil_v, limit, mh=engine.at("coil_mh"), ohm=ohm, charges=charges)
    return (
        f". At {limit:g}/min and {one.supply_v:g} V the coil comes to {amps:.1f} A and "
        f"{energy_mj(engine.at('coil_mh'), amps):.0f} mJ; where that misfires, another coil or more of them"
    )
