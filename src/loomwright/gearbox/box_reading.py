"""What does a gearbox file say, and what in it cannot be used?

A small TOML file, or the same as rows of the sheet `vehicle` whose properties begin with `gear.`. Everything that is in
the way is told at once, each with its mend. What is left out is typical or estimated, and says so in `Box.extent`.
"""

from __future__ import annotations

import itertools
import tomllib
from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Any

from loomwright.gearbox.box import GRIP_FRAC, Box, Converter, Engine, FluidHeat, GearPattern
from loomwright.gearbox.figures_read import Faults, figure, figures, pairs
from loomwright.gearbox.kept_lines import kept_lines_of
from loomwright.gearbox.programme_reading import programmes_of
from loomwright.gearbox.tyre import Tyre, tyre_of
from loomwright.job.engine_figures import GEAR_SPANS, GEAR_WORDS
from loomwright.refusals import BadDocument, OutOfReach
from loomwright.tables.load import read_rows, read_toml, table_names

__all__ = ["box_from_rows", "box_from_text", "shipped_box", "shipped_boxes"]

KNOWN = GEAR_WORDS
_MARK = "gear."
_GRAMS = 1000.0
_MASS_KG, _RATIO, _FINAL, _RPM = GEAR_SPANS["mass_kg"], (0.3, 8.0), GEAR_SPANS["final_drive"], (200.0, 12_000.0)
_MOST_HOLE_RPM = 1600.0
_STEP = 1.02  # a gear must differ from the next by more than this
_BMEP_NM_PER_LITRE = 75.0  # full load, two valves, no blower; typical, from memory
_SHAPE = ((0.12, 0.70), (0.28, 0.86), (0.45, 0.96), (0.62, 1.0), (0.8, 0.96), (1.0, 0.85), (1.12, 0.72))
_KEPT_FRAC = 0.92  # gears and axle; typical, from memory
_ROLLING_N_PER_KG, _AIR = 0.11, 0.038  # N a kg, N per (km/h)^2; typical, from memory
_LEAST_OF_IDLE = 1.35  # with a converter before it; common practice, no source
_PRESSURES = ("full", "least")
_LINE_KPA = (100.0, 3000.0)  # what automatic gearboxes run at; common practice, no source


def box_from_text(text: str, *, name: str = "box") -> Box:
    """The gearbox of a file.

    Args:
        name: of the file, for what is said of it.
    Raises:
        BadDocument: what cannot be used, all of it, each with its mend.
    """
    try:
        entries = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        faults = Faults(name)
        faults.add("", str(fault), "a TOML file", "Mend that line; a list stands in [ ], words in quotes")
        raise BadDocument(faults.problems()) from fault
    return _box(entries, Faults(name))


def box_from_rows(properties: Iterable[tuple[str, str]]) -> Box | None:
    """The gearbox of a job, from (property, value) pairs of the sheet `vehicle`; None where none begins with `gear.`.

    `gear.final_drive` is `final_drive` of the file, `gear.engine.torque` is `torque` of its table `engine`.

    Raises:
        BadDocument: as `box_from_text`.
    """
    entries: dict[str, Any] = {}
    for name, value in properties:
        if not name.startswith(_MARK):
            continue
        *tables, last = name.removeprefix(_MARK).split(".")
        inside = entries
        for table in tables:
            inside = inside.setdefault(table, {})
            if not isinstance(inside, dict):
                inside = {}
        inside[last] = _typed(value)
    return _box(entries, Faults("vehicle", sheet="vehicle")) if entries else None


def shipped_boxes() -> tuple[str, ...]:
    """The made-up gearboxes that ship."""
    return table_names("boxes", "toml")


def shipped_box(name: str = "four_speed") -> Box:
    """A made-up gearbox that ships.

    Raises:
        OutOfReach: there is none of that name.
    Example:
        >>> shipped_box().ratios
        (2.8, 1.54, 1.0, 0.7)
    """
    if name not in shipped_boxes():
        raise OutOfReach("gearbox", name, " ".join(shipped_boxes()))
    return _box(dict(read_toml("boxes", name)), Faults(name))


def _typed(value: str) -> Any:
    try:
        return tomllib.loads(f"value = {value}")["value"]
    except tomllib.TOMLDecodeError:
        return value


def _box(entries: Mapping[str, Any], faults: Faults) -> Box:
    faults.strange(entries, KNOWN)
    extent: list[str] = []
    ratios = figures(faults, entries, "ratios", *_RATIO, what="the forward gears, first to last, as [2.80, 1.54, 1.00]")
    for low, high in itertools.pairwise(ratios):
        if low < high * _STEP:
            faults.add(
                "ratios",
                f"{low:g} then {high:g}",
                "each lower than the one before",
                "Type the gears from first to last",
            )
    mass_kg = figure(
        faults, entries, "mass_kg", *_MASS_KG, needed="Weigh the car, or type its papers' figure and the load"
    )
    engine = _engine(faults, faults.table(entries, "engine"), extent)
    road = figures(faults, entries, "road_n", 0.0, 5000.0, usual=(_ROLLING_N_PER_KG * mass_kg, 0.0, _AIR))
    if len(road) != 3:
        faults.add("road_n", str(list(road)), "three figures", "A constant, a part by the speed, a part by its square")
        road = (0.0, 0.0, 0.0)
    if "road_n" not in entries:
        extent.append("road load typical")
    programmes = programmes_of(faults, faults.table(entries, "programmes"), len(ratios))
    box = Box(
        title=str(entries.get("title", "")),
        ratios=ratios,
        reverse=figure(faults, entries, "reverse", *_RATIO, usual=None) if "reverse" in entries else None,
        final_drive=figure(
            faults, entries, "final_drive", *_FINAL, needed="Count the teeth, or turn the shaft and count the wheel"
        ),
        tyre=_tyre(faults, entries),
        mass_g=mass_kg * _GRAMS,
        road_n=(road[0], road[1], road[2]),
        kept_frac=figure(faults, entries, "kept_frac", 0.6, 1.0, usual=_KEPT_FRAC),
        grip_frac=figure(faults, entries, "grip_frac", 0.1, 1.2, usual=GRIP_FRAC),
        engine=engine,
        least_rpm=figure(faults, entries, "least_rpm", *_RPM, usual=_LEAST_OF_IDLE * engine.idle_rpm),
        converter=_converter(faults, faults.table(entries, "converter"), extent),
        pattern=_pattern(faults, faults.table(entries, "solenoids"), len(ratios)),
        highest=_selector(faults, faults.table(entries, "selector"), len(ratios)),
        reverse_inhibit_kmh=figure(faults, entries, "reverse_inhibit_kmh", 0.0, 60.0, usual=None)
        if "reverse_inhibit_kmh" in entries
        else None,
        heat=_heat(faults, faults.table(entries, "heat")),
        programmes=programmes,
        extent=tuple(extent),
        kept=kept_lines_of(faults, faults.table(entries, "lines"), programmes, len(ratios)),
    )
    if found := faults.problems():
        raise BadDocument(found)
    return box


def _tyre(faults: Faults, entries: Mapping[str, Any]) -> Tyre:
    size = str(entries.get("tyre", ""))
    try:
        return tyre_of(size)
    except OutOfReach as refused:
        faults.add("tyre", size, refused.allowed, "Read the size from the tyre's wall")
        return tyre_of("205/65R15")


def _engine(faults: Faults, entries: Mapping[str, Any], extent: list[str]) -> Engine:
    faults.strange(entries, ("idle_rpm", "rated_rpm", "limit_rpm", "torque", "litres"), "engine.")
    idle = figure(faults, entries, "idle_rpm", 400.0, 1500.0, under="engine.", usual=750.0)
    limit = figure(
        faults, entries, "limit_rpm", 2000.0, 12_000.0, under="engine.", needed="The speed the engine may reach"
    )
    rated = figure(faults, entries, "rated_rpm", 1500.0, 12_000.0, under="engine.", usual=0.92 * limit)
    if not idle < rated <= limit:
        faults.add(
            "engine.rated_rpm", f"{rated:g}", f"more than idle, at most limit_rpm {limit:g}", "Type where power peaks"
        )
    if "torque" in entries:
        points = pairs(faults, entries, "torque", "engine.", "[[1000, 180], [2500, 240]]: 1/min and Nm")
    else:
        litres = figure(
            faults,
            entries,
            "litres",
            0.5,
            9.0,
            under="engine.",
            needed="Type the torque curve, or litres to have one estimated",
        )
        points = tuple((share * rated, part * _BMEP_NM_PER_LITRE * litres) for share, part in _SHAPE)
        extent.append("torque curve estimated from the engine's size")
    _check_curve(faults, points, idle, limit)
    return Engine(
        idle_rpm=idle,
        rated_rpm=rated,
        limit_rpm=limit,
        torque_rpm=tuple(point[0] for point in points),
        torque_nm=tuple(point[1] for point in points),
        is_estimated="torque" not in entries,
    )


def _check_curve(faults: Faults, points: tuple[tuple[float, float], ...], idle: float, limit: float) -> None:
    where = "engine.torque"
    if len(points) < 2:
        return
    for (low, _), (high, _) in itertools.pairwise(points):
        if high <= low:
            faults.add(where, f"{low:g} then {high:g} 1/min", "speeds that rise", "Sort the points, one a speed")
        elif high - low > _MOST_HOLE_RPM:
            text = f"nothing between {low:g} and {high:g} 1/min"
            faults.add(where, text, f"a point at least every {_MOST_HOLE_RPM:g} 1/min", "Add points there")
    for rpm, torque in points:
        if not 0.0 < torque <= 2000.0:
            faults.add(
                where, f"{torque:g} Nm at {rpm:g} 1/min", "more than 0, at most 2000 Nm", "Type the torque there"
            )
    if points[0][0] > idle + _MOST_HOLE_RPM / 2.0:
        faults.add(
            where, f"begins at {points[0][0]:g} 1/min", f"a point near idle, {idle:g}", "Add what it gives there"
        )
    if points[-1][0] < limit - _MOST_HOLE_RPM / 2.0:
        faults.add(
            where, f"ends at {points[-1][0]:g} 1/min", f"a point near the limit, {limit:g}", "Add what it gives there"
        )


def _converter(faults: Faults, entries: Mapping[str, Any], extent: list[str]) -> Converter:
    faults.strange(entries, ("speed_ratios", "k_rpm", "torque_ratios", "stall_factor"), "converter.")
    if "speed_ratios" not in entries:
        extent.append("converter typical")
        rows = read_rows("converter_typical")
        factor = figure(faults, entries, "stall_factor", 0.6, 1.8, under="converter.", usual=1.0)
        return Converter(
            speed_ratios=tuple(float(row["speed_ratio"]) for row in rows),
            k_rpm=tuple(float(row["k_rpm"]) * factor for row in rows),
            torque_ratios=tuple(float(row["torque_ratio"]) for row in rows),
            is_typical=True,
        )
    columns = [
        figures(faults, entries, name, least, most, under="converter.")
        for name, least, most in (("speed_ratios", 0.0, 1.0), ("k_rpm", 50.0, 600.0), ("torque_ratios", 0.9, 4.0))
    ]
    ratios = columns[0]
    if len({len(column) for column in columns}) != 1:
        faults.add(
            "converter", "lists of unlike length", "one k_rpm and one torque ratio a speed ratio", "Fill them up"
        )
    elif len(ratios) < 3 or ratios[0] != 0.0 or ratios[-1] != 1.0 or list(ratios) != sorted(set(ratios)):
        faults.add("converter.speed_ratios", str(list(ratios)), "rising from 0 to 1, three or more", "Add both ends")
    return Converter(speed_ratios=ratios, k_rpm=columns[1], torque_ratios=columns[2])


def _pattern(faults: Faults, entries: Mapping[str, Any], gears: int) -> GearPattern | None:
    if not entries:
        return None
    faults.strange(entries, ("names", "gears", "pressure_unplugged", "pressure", "pressure_kpa"), "solenoids.")
    names = tuple(str(name) for name in entries.get("names", ()))
    found: dict[int, tuple[bool, ...]] = {}
    for word, text in faults.table(entries, "gears", "solenoids.").items():
        where, cells = f"solenoids.gears.{word}", str(text).split()
        if not word.isdecimal() or not 1 <= int(word) <= gears:
            faults.add(where, word, f"a gear, 1 to {gears}", "Take the row out, or add the gear's ratio")
        elif len(cells) != len(names) or not set(cells) <= {"on", "off"}:
            faults.add(
                where,
                str(text),
                f"on or off for each of {' '.join(names) or 'names'}",
                "One word a solenoid, in their order",
            )
        else:
            found[int(word)] = tuple(cell == "on" for cell in cells)
    pressure = str(entries.get("pressure_unplugged", ""))
    if pressure and pressure not in _PRESSURES:
        faults.add(
            "solenoids.pressure_unplugged", pressure, " or ".join(_PRESSURES), "What the pressure does with no current"
        )
    return GearPattern(
        names=names,
        gears=MappingProxyType(found),
        pressure_unplugged=pressure,
        pressure=str(entries.get("pressure", "")),
        pressure_kpa=_line_pressures(faults, entries),
    )


def _line_pressures(faults: Faults, entries: Mapping[str, Any]) -> tuple[float, float] | None:
    if "pressure_kpa" not in entries:
        return None
    what = "idle in D and stalled, as [450, 1250]"
    found = figures(faults, entries, "pressure_kpa", *_LINE_KPA, under="solenoids.", what=what)
    if len(found) == 2 and found[0] < found[1]:
        return found[0], found[1]
    faults.add("solenoids.pressure_kpa", str(entries["pressure_kpa"]), what, "The lower one first, both in kPa")
    return None


def _selector(faults: Faults, entries: Mapping[str, Any], gears: int) -> Mapping[str, int]:
    highest: dict[str, int] = {}
    for position, gear in entries.items():
        if isinstance(gear, int) and 1 <= gear <= gears:
            highest[position] = gear
        else:
            faults.add(
                f"selector.{position}", str(gear), f"the highest gear in it, 1 to {gears}", "Type a gear there is"
            )
    return MappingProxyType(highest or {"D": max(gears, 1)})


def _heat(faults: Faults, entries: Mapping[str, Any]) -> FluidHeat:
    usual = FluidHeat()
    faults.strange(entries, ("cold_c", "hot_c", "hot_off_c", "store_kj_per_k", "cooler_w_per_k"), "heat.")
    heat = FluidHeat(
        cold_c=figure(faults, entries, "cold_c", -40.0, 80.0, under="heat.", usual=usual.cold_c),
        hot_c=figure(faults, entries, "hot_c", 80.0, 170.0, under="heat.", usual=usual.hot_c),
        hot_off_c=figure(faults, entries, "hot_off_c", 60.0, 170.0, under="heat.", usual=usual.hot_off_c),
        store_kj_per_k=figure(faults, entries, "store_kj_per_k", 5.0, 200.0, under="heat.", usual=usual.store_kj_per_k),
        cooler_w_per_k=figure(
            faults, entries, "cooler_w_per_k", 0.0, 1000.0, under="heat.", usual=usual.cooler_w_per_k
        ),
    )
    if heat.hot_off_c >= heat.hot_c:
        faults.add(
            "heat.hot_off_c",
            f"{heat.hot_off_c:g}",
            f"below hot_c, {heat.hot_c:g} °C",
            "Let it end cooler than it begins",
        )
    return heat
