"""What an engine starts with, asked as others print or work it out: by the names the cases use."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from loomwright.calibration.air import moist_kg_per_m3, power_factor
from loomwright.calibration.charge import air_mg, duty_frac, fuel_mg, pulse_ms
from loomwright.calibration.dwell import dwell_ms, energy_mj
from loomwright.calibration.engine import engine_of
from loomwright.calibration.fuel import air_fuel_of, fuel_called, lambda_of_gauge
from loomwright.calibration.injector import (
    BenchPulse,
    cc_per_min_of,
    difference_kpa,
    flow_cc_per_min,
    needed_cc_per_min,
    opening_ms,
    pulse_line,
)
from loomwright.calibration.sensor_laws import meant_by, platinum_ohm, type_k_mv
from loomwright.calibration.sensors import points_at
from loomwright.calibration.side_tables import fan_numbers
from loomwright.calibration.thermistor import divider_v, ohms_of_volts, thermistor_of
from loomwright.calibration.wheel import wheel_signal
from loomwright.logs.cells import Grid, cells_of, shares_of
from loomwright.logs.drive import Drive
from loomwright.logs.idling import idles_of
from loomwright.logs.limits import typical_limits
from loomwright.logs.steady import Visits, visits_of
from loomwright.refusals import OutOfReach
from loomwright.startup.timing import TimingReading, timing_of
from loomwright.startup.timing_band import timing_band
from loomwright.tables.start_figures import FuelMade, figure

__all__ = ["ENGINES"]

MAPS = {"0.004/0.04": (0.004, 0.04), "0.009/0.095": (0.009, 0.095)}
INHG_KPA = 3.38639


def _air_fuel(c: str, h: str, o: str) -> float:
    atoms = {"carbon": float(c), "hydrogen": float(h), "oxygen": float(o)}
    return air_fuel_of(FuelMade(name="x", density_kg_per_l=None, **atoms))


def _blend(name: str, what: str) -> float:
    fuel = fuel_called(name)
    return {"ratio": fuel.air_fuel, "mass": fuel.ethanol_frac, "density": fuel.density_kg_per_l}[what]


def _gauge(shown: str, scale: str, fuel: str, what: str) -> float:
    return lambda_of_gauge(float(shown), float(scale), fuel_called(fuel))[("lambda", "ratio").index(what)]


def _flow(rated: str, at: str, given: str) -> float:
    return flow_cc_per_min(float(given), float(rated), float(at))


def _flow_factor(rail: str, baro: str, manifold: str, rated: str) -> float:
    across = difference_kpa(float(rail), float(manifold), baro_kpa=float(baro), follows_manifold=False)
    return flow_cc_per_min(1.0, float(rated), across)


def _needed_lb_per_h(hp: str, bsfc: str, injectors: str, duty: str) -> float:
    """In pounds an hour: with a pound as the unit of mass, a cc/min at 1 kg/L is 60 g/h."""
    cc = needed_cc_per_min(float(hp), float(bsfc), int(injectors), duty_frac=float(duty), density_kg_per_l=1.0)
    return cc * 60.0


def _needed_cc(kw: str, bsfc: str, injectors: str, duty: str, density: str) -> float:
    wanted = {"duty_frac": float(duty), "density_kg_per_l": float(density)}
    return needed_cc_per_min(float(kw), float(bsfc), int(injectors), **wanted)


def _charge(kpa: str, cc: str, c: str, ve: str, mix: str, ratio: str, flow: str, late: str, what: str) -> float:
    air = air_mg(float(ve), float(kpa), float(cc), float(c))
    fuel = fuel_mg(air, float(mix), float(ratio))
    return {"air": air, "fuel": fuel, "pulse": pulse_ms(fuel, float(flow), float(late))}[what]


def _pulse_line(ms: str, mg: str, what: str) -> float:
    pairs = zip(ms.split(), mg.split(), strict=True)
    bench = [BenchPulse(pulse_ms=float(p), mass_mg=float(m), kpa=300.0, supply_v=14.0) for p, m in pairs]
    line = pulse_line(bench, at_kpa=300.0, supply_v=14.0)
    return {"slope": line.slope_g_per_s, "delay": line.delay_ms}[what]


def _opening(v: str, mh: str, ohm: str, a: str, needle: str) -> float:
    return opening_ms(float(v), mh=float(mh), ohm=float(ohm), pull_in_a=float(a), mechanical_ms=float(needle))


def _dwell(v: str, mh: str, ohm: str, a: str, drop: str = "0") -> float:
    found = dwell_ms(float(v) - float(drop), mh=float(mh), ohm=float(ohm), peak_a=float(a))
    if found is None:
        raise OutOfReach("dwell", a, "what the volts can drive")
    return found


def _timing(rpm: str, err: str, what: str) -> float:
    pairs = zip(rpm.split(), err.split(), strict=True)
    found = timing_of(
        [TimingReading(rpm=float(n), commanded_deg=10.0, seen_deg=10.0 + float(e)) for n, e in pairs], cylinders=4
    )
    assert found.offset is not None
    assert found.delay is not None
    return {"offset": found.offset.value, "delay": found.delay.value}[what]


def _late_deg(us: str, rpm: str) -> float:
    """How late the fitted line has the spark at a speed, the readings being those of one delay in microseconds."""
    read = [
        TimingReading(rpm=n, commanded_deg=10.0, seen_deg=10.0 - float(us) * n * 360.0 / 60e6)
        for n in (1000.0, 3000.0, 5000.0)
    ]
    return -timing_band(read, timing_of(read, cylinders=4), [float(rpm)])[0][0]


def _wheel(wheel: str, rpm: str, what: str) -> float:
    found = wheel_signal(wheel, float(rpm))
    return {
        "hz": found.tooth_hz,
        "tooth_us": found.tooth_s * 1e6,
        "gap_us": found.gap_s * 1e6,
        "ratio": found.ratio,
        "halfway": found.halfway,
    }[what]


def _thermistor(points: str, what: str, at: str = "0") -> float:
    curve = thermistor_of([(float(t), float(r)) for t, r in (each.split(":") for each in points.split())])
    if what == "temperature":
        return curve.temperature_c(float(at))
    if what == "resistance":
        return curve.resistance_ohm(float(at))
    return {"a": curve.a, "b": curve.b, "c": curve.c, "beta": curve.beta_k or 0.0}[what]


def _map_points(law: str, supply: str) -> list[tuple[float, float]]:
    """Volts and kilopascals of a pressure sensor whose volts go with its supply."""
    slope, less = MAPS[law]
    return [(float(supply) * (slope * kpa - less), kpa) for kpa in (0.0, 300.0)]


def _map_v(law: str, supply: str, kpa: str) -> float:
    return points_at([(pressure, volts) for volts, pressure in _map_points(law, supply)], float(kpa))


def _map_kpa(law: str, supply: str, volts: str) -> float:
    return points_at(_map_points(law, supply), float(volts))


def _meant(**read: str) -> float:
    return meant_by({name: float(text) for name, text in read.items()})[0].value


def _sender(points: str, at: str) -> float:
    return points_at([(float(r), float(p)) for r, p in (each.split(":") for each in points.split())], float(at))


def _correction(code: str, t: str, rh: str, hpa: str = "", inhg: str = "") -> float:
    kpa = float(hpa) / 10.0 if hpa else float(inhg) * INHG_KPA
    celsius = (float(t[:-1]) - 32.0) / 1.8 if t.endswith("F") else float(t)
    return power_factor(code, kpa, celsius, float(rh))


def _flex(hz: str, ms: str, slope: str, what: str) -> float:
    share, fuel = meant_by({"flex_hz": float(hz), "flex_ms": float(ms), "k_per_ms": float(slope)})
    return {"share": share.value / 100.0, "temperature": fuel.value}[what]


def _oil_kpa(rpm: str) -> float:
    return figure("oil_kpa_per_1000_rpm") * float(rpm) / 1000.0


def _worst_k(points: str, temperatures: str, ohms: str) -> float:
    """The largest distance between a curve and a printed table, in kelvin."""
    curve = thermistor_of([(float(t), float(r)) for t, r in (each.split(":") for each in points.split())])
    pairs = zip(temperatures.split(), ohms.split(), strict=True)
    return float(np.max([abs(curve.temperature_c(float(r)) - float(t)) for t, r in pairs]))


def _corrected(old: str, measured: str, target: str, trim: str = "0") -> float:
    """A table's figure after a drive that stays in one of its cells: every measured figure is held for a minute."""
    mixture = np.repeat([float(one) for one in measured.split()], 60).astype(np.float32)
    time_s = np.arange(mixture.size, dtype=np.float64)
    held = {"engine_speed": 2000.0, "manifold_pressure": 50.0, "mixture_target": float(target), "trim": float(trim)}
    of = {name: np.full(mixture.size, value, np.float32) for name, value in held.items()} | {"mixture": mixture}
    drive = Drive(time_s=time_s, stretch=np.zeros(time_s.size, np.int32), step_s=1.0, of=of)
    keep = np.ones(time_s.size, bool)
    visits = visits_of(drive, typical_limits(), keep, lambda rpm, load: np.zeros(rpm.size), target=1.0)
    cells = cells_of(visits, Grid(rpm=(2000.0, 3000.0), load=(50.0, 60.0)), typical_limits())
    assert cells[0].factor is not None
    return float(old) * cells[0].factor


def _visits(**of: list[float]) -> Visits:
    count = len(next(iter(of.values())))
    filled = {name: np.asarray(of.get(name, [0.0] * count), float) for name in Visits.__dataclass_fields__}
    return Visits(**filled | {"rows": np.ones(count, np.int64)})


def _between(rpm: str, load: str, at: str, what: str) -> float:
    """What a table reads between its breakpoints, and how much of it is that of each."""
    marks = Grid(rpm=tuple(map(float, rpm.split())), load=tuple(map(float, load.split())))
    speed, pressure = map(float, at.split())
    corner, part = shares_of(_visits(rpm=[speed], load=[pressure]), marks)
    share = np.zeros(len(marks.rpm) * len(marks.load))
    share[corner[0]] = part[0]
    if what.startswith("share"):
        return float(share[int(what.removeprefix("share"))])
    return float(share @ np.array([float(one) for one in what.split()]))


def _idle(rpm: str, what: str) -> float:
    """An idle whose first and last seconds, which do not count, are filled with its mean."""
    read = np.array([float(one) for one in rpm.split()])
    speed = np.concatenate([np.zeros(1), np.full(3, read.mean()), read, np.full(2, read.mean()), np.zeros(1)])
    throttle = np.where(speed > 0.0, 1.0, 50.0)
    drive = Drive(
        time_s=np.arange(speed.size, dtype=np.float64),
        stretch=np.zeros(speed.size, np.int32),
        step_s=1.0,
        of={"engine_speed": speed.astype(np.float32), "throttle": throttle.astype(np.float32)},
    )
    [idle] = idles_of(drive, {**typical_limits(), "idle_least_s": 5.0})
    return {
        "mean": idle.mean_rpm,
        "spread": idle.spread_rpm,
        "share": 100.0 * idle.spread_rpm / idle.mean_rpm,
        "span": idle.span_rpm,
    }[what]


def _sure_after(sigma: str, count: str, alike: str) -> float:
    """Half the 95 % interval of one long visit whose rows differ so much and go with each other so much."""
    rows, rho = int(count), float(alike)
    dice = np.random.default_rng(46)
    worth = []
    for _ in range(40):
        noise = dice.normal(0.0, 1.0, rows)
        if rho:
            for row in range(1, rows):
                noise[row] = rho * noise[row - 1] + np.sqrt(1.0 - rho**2) * noise[row]
        held = {"engine_speed": np.full(rows, 2000.0), "manifold_pressure": np.full(rows, 50.0)}
        of = {name: figures.astype(np.float32) for name, figures in held.items()}
        of["mixture"] = np.exp(float(sigma) * noise).astype(np.float32)
        drive = Drive(time_s=np.arange(float(rows)), stretch=np.zeros(rows, np.int32), step_s=1.0, of=of)
        limits = {**typical_limits(), "visit_s": 10.0 * rows}
        found = visits_of(drive, limits, np.ones(rows, bool), lambda rpm, load: np.zeros(rpm.size), target=1.0)
        worth.append(float(found.variance[0]))
    return 1.96 * float(np.sqrt(np.mean(worth)))


def _fan_gap(which: str) -> float:
    numbers = {one.name: one.value for one in fan_numbers(engine_of({"displacement_cc": 1998, "cylinders": 4}))[0]}
    off = {"first": "fan_off", "second": "fan_second_off"}[which]
    return numbers[off.replace("_off", "_on")] - numbers[off]


ENGINES: Mapping[str, Callable[..., float | str]] = {
    "air_fuel": _air_fuel,
    "blend": _blend,
    "gauge": _gauge,
    "injector_flow": _flow,
    "flow_factor": _flow_factor,
    "lb_per_h": lambda lb, density: cc_per_min_of(float(lb), float(density)),
    "needed_lb_per_h": _needed_lb_per_h,
    "needed_cc": _needed_cc,
    "charge": _charge,
    "duty_percent": lambda ms, rpm: 100.0 * duty_frac(float(ms), float(rpm)),
    "pulse_line": _pulse_line,
    "opening": _opening,
    "coil_mj": lambda mh, a: energy_mj(float(mh), float(a)),
    "dwell": _dwell,
    "timing": _timing,
    "thermistor": _thermistor,
    "worst_k": _worst_k,
    "divider": lambda ohm, pull: divider_v(float(ohm), float(pull)),
    "divider_back": lambda v, pull: ohms_of_volts(float(v), float(pull)),
    "map_v": _map_v,
    "map_kpa": _map_kpa,
    "sender": _sender,
    "type_k_c": lambda mv, junction: _meant(type_k_mv=mv, junction_c=junction),
    "type_k_mv": lambda at: type_k_mv(float(at)),
    "platinum": lambda at: platinum_ohm(float(at)),
    "flex": _flex,
    "correction": _correction,
    "moist_air": lambda hpa, t, rh: moist_kg_per_m3(float(hpa) / 10.0, float(t), float(rh)),
    "oil_kpa": _oil_kpa,
    "corrected": _corrected,
    "late_deg": _late_deg,
    "wheel": _wheel,
    "between": _between,
    "idle": _idle,
    "sure_after": _sure_after,
    "fan_gap": _fan_gap,
}
"""Name of a figure -> what gives it."""
