"""Figures of tables and formulas that outside sources print too, by the names the cases use.

Each asks one of our functions; what a unit of the source needs is turned here, with its definition beside it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from loomwright.job.rows import Wire
from loomwright.network.draft import Draft
from loomwright.network.laws import amps_and_slope
from loomwright.network.records import FIGURES as MOST
from loomwright.network.records import Changes, Law
from loomwright.network.wiring import wire_ohm_20c
from loomwright.quantities.gauge import gauge_size_mm2
from loomwright.states.ratings.wire_limits import WireLimit, carries_a, steady_c
from loomwright.tables.conductors import gauge_number, hot_factor, ohm_per_m, ohm_per_m_20c, sizes_mm2
from loomwright.tables.constants import constant
from loomwright.tables.load import read_rows
from tests.outside.assigning import ASSIGNING
from tests.outside.carrying import CARRYING
from tests.outside.engine_figures import ENGINES
from tests.outside.fuse_figures import FUSES
from tests.outside.gear_figures import GEARS
from tests.outside.table_figures import CELLS

__all__ = ["FIGURES"]

FT_M = 0.3048
KFT_M = 304.8
CMIL_MM2 = 5.067075e-4  # a circle a thousandth of an inch across
MILLI = 1000.0
KILO = 1000.0
MARINE_GAUGES = (18, 16, 14, 12, 10, 8, 6, 4, 2, 1, 0, -1, -2, -3)


def _gauge_mm(awg: str) -> float:
    return float(np.sqrt(4.0 * gauge_size_mm2(gauge_number(awg)) / np.pi))


def _gauge_mm2(awg: str) -> float:
    return gauge_size_mm2(gauge_number(awg))


def _resistivity_ohm_cmil_per_ft() -> float:
    # ohm mm2/m over mm2 a circular mil, times metres a foot
    return constant("copper_resistivity_ohm_mm2_per_m") / CMIL_MM2 * FT_M


def _awg_mohm_per_m(awg: str) -> float:
    return ohm_per_m_20c(gauge_size_mm2(gauge_number(awg)), "awg") * MILLI


def _awg_over_geometry(awg: str) -> float:
    """Printed resistance over that of a solid bare wire of the number."""
    area_mm2 = gauge_size_mm2(gauge_number(awg))
    return ohm_per_m_20c(area_mm2, "awg") * area_mm2 / constant("copper_resistivity_ohm_mm2_per_m")


def _least_over_geometry() -> float:
    return min(_awg_over_geometry(row["awg"]) for row in read_rows("conductors_awg"))


def _most_over_geometry() -> float:
    return max(_awg_over_geometry(row["awg"]) for row in read_rows("conductors_awg"))


def _metric_mohm_per_m(size_mm2: str, temperature_c: str = "20") -> float:
    return ohm_per_m(float(size_mm2), float(temperature_c)) * MILLI


def _copper_needed_mm2(size_mm2: str) -> float:
    """Area of plain copper that has the table's resistance."""
    return constant("copper_resistivity_ohm_mm2_per_m") / ohm_per_m_20c(float(size_mm2))


def _sizes_where_class_5_is_below_class_2() -> float:
    rows = [row for row in read_rows("conductors_metric") if row["class2_plain_ohm_per_km"]]
    return sum(float(row["class5_plain_ohm_per_km"]) < float(row["class2_plain_ohm_per_km"]) for row in rows)


def _class_2_over_class_5(size_mm2: str) -> float:
    row = next(row for row in read_rows("conductors_metric") if float(row["size_mm2"]) == float(size_mm2))
    return float(row["class2_plain_ohm_per_km"]) / float(row["class5_plain_ohm_per_km"])


def _copper_factor(temperature_c: str) -> float:
    return hot_factor(float(temperature_c))


def _copper_drop_v(
    amps: str, feet: str = "", metres: str = "", awg: str = "", ohm_per_m: str = "", parallel: str = "1"
) -> float:
    """Volts lost in the copper of a run: our wire's own resistance at 20 degC, joints left out."""
    length_m = float(feet) * FT_M if feet else float(metres)
    each = ohm_per_m or str(_awg_mohm_per_m(awg) / MILLI)
    wire = Wire(id="W", from_="a", to="b", length_mm=length_m * MILLI, ohm_per_m=float(each))
    draft = Draft(variables=(), design_ambient_c=20.0, changes=Changes())
    return float(amps) * wire_ohm_20c(draft, wire, "") / int(parallel)


def _implied_ohm_cmil_per_ft(awg: str) -> float:
    """Resistivity that a row's printed resistance and printed circular mils give together."""
    row = next(row for row in read_rows("conductors_awg") if row["awg"] == awg)
    return float(row["r20_ohm_per_kft"]) * float(row["area_cmil"]) / KILO


def _copper_ohm_cmil_per_ft(copper_c: str) -> float:
    return _resistivity_ohm_cmil_per_ft() * hot_factor(float(copper_c))


def _needed_cmil(amps: str, feet: str, limit_v: str, copper_c: str) -> float:
    """Circular mils of plain copper that lose the limit: K I L / E."""
    return _copper_ohm_cmil_per_ft(copper_c) * float(amps) * float(feet) / float(limit_v)


def _plain_copper_awg(amps: str, feet: str, limit_v: str, copper_c: str) -> float:
    """The thinnest of a row of gauges whose area is that much or more."""
    needed_mm2 = _needed_cmil(amps, feet, limit_v, copper_c) * CMIL_MM2
    return max(number for number in MARINE_GAUGES if gauge_size_mm2(number) >= needed_mm2)


def _thinnest_awg(feet: str, amps: str, limit_v: str) -> float:
    """The thinnest gauge of our table that loses no more than the limit."""
    sizes = {row["awg"]: _copper_drop_v(amps, feet=feet, awg=row["awg"]) for row in read_rows("conductors_awg")}
    fits = [gauge_number(awg) for awg, lost_v in sizes.items() if lost_v <= float(limit_v)]
    return max(fits)


def _hot_run_ft(feet: str, temperature_c: str) -> float:
    """How long a run may be hot that may be `feet` long at 20 degC."""
    return float(feet) / hot_factor(float(temperature_c))


def _longest_run_ft(awg: str, amps: str, limit_v: str) -> float:
    return float(limit_v) / (float(amps) * _awg_mohm_per_m(awg) / MILLI) / FT_M


def _steady_c(share: str, ambient_c: str, class_c: str) -> float:
    """Where a wire settles at a share of what it carries for ever: of any size."""
    limit = WireLimit(
        wire="W", size_mm2=2.5, insulation_c=float(class_c), ambient_c=float(ambient_c), excess_k=0.0
    )  # fmt: skip
    amps = float(share) * carries_a(limit, float(ambient_c))
    return steady_c(limit, amps=amps, ambient_c=float(ambient_c))


def _lamp_frac(volts_frac: str, what: str) -> float:
    """A lamp's current, power, light or life over that at its design volts."""
    volts = float(volts_frac)
    p = np.zeros(MOST)
    p[:3] = 1.0, 1.0, 1.0 * constant("lamp_cold_frac")
    amps = float(amps_and_slope(int(Law.LAMP), p, volts)[0])
    return {
        "amps": amps,
        "watts": volts * amps,
        "light": volts ** constant("lamp_flux_exponent"),
        "life": volts ** constant("lamp_life_exponent"),
    }[what]


def _sizes_in_table(gauge: str) -> float:
    return len(sizes_mm2(gauge))


FIGURES: Mapping[str, Callable[..., float | str]] = {
    **ASSIGNING,
    **CARRYING,
    **ENGINES,
    **GEARS,
    **FUSES,
    **CELLS,
    "gauge_mm": _gauge_mm,
    "gauge_mm2": _gauge_mm2,
    "resistivity_ohm_cmil_per_ft": _resistivity_ohm_cmil_per_ft,
    "awg_mohm_per_m": _awg_mohm_per_m,
    "awg_over_geometry": _awg_over_geometry,
    "least_over_geometry": _least_over_geometry,
    "most_over_geometry": _most_over_geometry,
    "metric_mohm_per_m": _metric_mohm_per_m,
    "copper_needed_mm2": _copper_needed_mm2,
    "sizes_where_class_5_is_below_class_2": _sizes_where_class_5_is_below_class_2,
    "class_2_over_class_5": _class_2_over_class_5,
    "copper_factor": _copper_factor,
    "copper_drop_v": _copper_drop_v,
    "implied_ohm_cmil_per_ft": _implied_ohm_cmil_per_ft,
    "copper_ohm_cmil_per_ft": _copper_ohm_cmil_per_ft,
    "needed_cmil": _needed_cmil,
    "plain_copper_awg": _plain_copper_awg,
    "thinnest_awg": _thinnest_awg,
    "hot_run_ft": _hot_run_ft,
    "longest_run_ft": _longest_run_ft,
    "steady_c": _steady_c,
    "lamp_frac": _lamp_frac,
    "sizes_in_table": _sizes_in_table,
}
