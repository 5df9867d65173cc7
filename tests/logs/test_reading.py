"""Logs of any naming come in: units, clocks, gaps, text among figures, half a file, two logs in one."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest

from loomwright.exchange.log_file import open_log
from loomwright.logs.channels import QUANTITIES, Column, recognised
from loomwright.logs.clock import clock_of
from loomwright.logs.drive import drive_of
from loomwright.logs.dyno import readiness
from loomwright.logs.judged import judged
from loomwright.logs.mapping import Mapped, mapped_from, mapped_text
from loomwright.refusals import BadDocument, NoAnswer, OutOfReach


def told(name: str, figures: list[float], unit: str = "") -> dict[str, str]:
    """What one column is taken for."""
    found = recognised([Column(name=name, unit=unit, sample=np.array(figures))])
    return {channel.quantity: channel.unit for channel in found}


@pytest.mark.parametrize(
    ("heading", "figures", "quantity"),
    [
        ("RPM", [0.0, 900.0, 3000.0], "engine_speed"),
        ("Motordrehzahl [1/min]", [0.0, 900.0, 3000.0], "engine_speed"),
        ("Engine_Speed", [0.0, 900.0, 3000.0], "engine_speed"),
        ("engineSpeed (rpm)", [0.0, 900.0, 3000.0], "engine_speed"),
        ("MAP", [35.0, 60.0, 99.0], "manifold_pressure"),
        ("Throttle Position (%)", [1.0, 30.0, 90.0], "throttle"),
        ("Lambda 1", [0.9, 1.0, 1.1], "mixture"),
        ("Lambda Target", [0.9, 1.0, 1.0], "mixture_target"),
        ("Coolant Temp (degC)", [20.0, 60.0, 90.0], "coolant"),
        ("Battery Voltage", [12.0, 14.0, 14.1], "battery"),
        ("Oil Press (bar)", [0.0, 2.0, 4.0], "oil_pressure"),
        ("Vehicle Speed (mph)", [0.0, 30.0, 60.0], "road_speed"),
    ],
)
def test_a_column_is_known_by_its_name_and_unit(heading, figures, quantity):
    assert list(told(heading, figures)) == [quantity]


def test_a_unit_of_another_thing_rules_a_name_out():
    assert told("MAP (V)", [1.0, 2.0, 3.0]) == {}


def test_a_name_nobody_knows_is_left():
    assert told("xyz 17", [1.0, 2.0]) == {}


def test_units_are_turned():
    columns = [
        Column(name="Oil Pressure (psi)", sample=np.array([10.0, 40.0])),
        Column(name="CLT (°F)", sample=np.array([68.0, 194.0])),
        Column(name="AFR", sample=np.array([12.5, 14.7])),
    ]
    by = {channel.quantity: channel for channel in recognised(columns)}
    assert by["oil_pressure"].factor * 10.0 == pytest.approx(68.94757)
    assert by["coolant"].factor * 194.0 + by["coolant"].offset == pytest.approx(90.0)
    assert by["mixture"].factor * 12.5 == pytest.approx(0.8503, abs=5e-5)
    assert "14.7" in by["mixture"].says


def test_a_unit_that_is_guessed_is_told_and_less_sure():
    columns = [Column(name="MAP", sample=np.array([0.35, 0.6, 0.99]))]
    (guessed,) = recognised(columns)
    (sure,) = recognised([Column(name="MAP (bar)", sample=np.array([0.35, 0.6, 0.99]))])
    assert guessed.factor == sure.factor == 100.0
    assert guessed.sure_frac < sure.sure_frac
    assert "only make sense as bar" in guessed.says


def test_what_a_person_typed_comes_first():
    columns = [Column(name="RPM", sample=np.array([900.0])), Column(name="ch 7", sample=np.array([900.0]))]
    found = recognised(columns, {"ch 7": "engine_speed", "RPM": ""})
    assert [(channel.column, channel.quantity) for channel in found] == [("ch 7", "engine_speed")]
    with pytest.raises(OutOfReach):
        recognised(columns, {"ch 8": "engine_speed"})
    with pytest.raises(OutOfReach):
        recognised(columns, {"ch 7": "revolutions"})


def test_a_mapping_comes_back_as_it_was_written():
    columns = [Column(name='Say "RPM"', unit="rpm", sample=np.array([900.0]))]
    typed = Mapped(columns={'Say "RPM"': "engine_speed"}, limits={"limit_rpm": 6200.0}, gauge=14.6, fuel="E10")
    text = mapped_text(typed, recognised(columns, typed.columns))
    back = mapped_from(text)
    assert (back.columns, back.limits, back.gauge, back.fuel) == (typed.columns, typed.limits, 14.6, "E10")
    assert back.units == {'Say "RPM"': "rpm"}


def test_a_mapping_tells_all_that_is_in_the_way():
    with pytest.raises(BadDocument) as refused:
        mapped_from('gauge = 99\nfuel = 3\n[colums]\na = "b"\n[limits]\nlimit_rpm = "high"\n')
    assert len(refused.value.problems) == 4


def test_a_clock_that_steps_back_or_stops_begins_a_new_stretch():
    clock = clock_of(np.array([0.0, 0.1, 0.2, 7.0, 7.1, 0.0, 0.1]))
    assert clock.stretch.tolist() == [0, 0, 0, 1, 1, 2, 2]
    assert len(clock.says) == 2


def test_midnight_on_a_clock_of_the_day_parts_no_drive():
    clock = clock_of(np.array([86399.8, 86399.9, 0.0, 0.1, 0.2]))
    assert clock.stretch.max() == 0
    assert np.diff(clock.time_s) == pytest.approx(np.full(4, 0.1), abs=1e-6)
    assert clock.says == ("the clock passes midnight: taken as one drive",)
    # a day later and more than a gap, or no clock of the day at all, is another recording
    assert clock_of(np.array([86390.0, 86390.1, 5.0, 5.1, 5.2])).stretch.max() == 1
    assert clock_of(np.array([100.0, 100.1, 0.0, 0.1, 0.2])).stretch.max() == 1


def test_repeated_times_are_spread_evenly():
    clock = clock_of(np.repeat(np.arange(5) * 0.1, 4))
    assert np.allclose(np.diff(clock.time_s), 0.025)
    assert clock.step_s == pytest.approx(0.025)


LINES = ["Time,RPM,MAP,CLT"] + [f"{k * 0.05:.2f},{900 + k},{40 + k % 7},{80}" for k in range(200)]


def read(tmp_path, text: str, name: str = "drive.csv", encoding: str = "utf-8"):
    """A text as a drive."""
    path = tmp_path / name
    path.write_bytes(text.encode(encoding))
    recording = open_log(path)
    return recording, drive_of(recording, recognised(recording.columns))


def test_a_plain_log_is_read_without_remarks(tmp_path):
    recording, drive = read(tmp_path, "\n".join(LINES) + "\n")
    assert recording.says == drive.says == ()
    assert drive.time_s.size == 200
    assert drive.of["engine_speed"][:2].tolist() == [900.0, 901.0]


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
def test_other_codes_and_signs_are_read(tmp_path, encoding):
    lines = ["Zeit;Drehzahl;Kühlmittel (°C)"] + [f"{k * 0.1:.1f};{900 + k};80,5".replace(".", ",") for k in range(50)]
    _, drive = read(tmp_path, "\n".join(lines) + "\n", encoding=encoding)
    assert drive.of["coolant"][0] == pytest.approx(80.5)
    assert drive.time_s[1] == pytest.approx(0.1)
    assert drive.of["engine_speed"][-1] == 949.0


def test_remarks_and_a_line_of_units_above_are_understood(tmp_path):
    lines = ["Recorder 3", "Date,2 May", "Time,RPM,MAP,CLT", "ms,rpm,bar,°F"]
    lines += [f"{k * 50},{900 + k},0.4,176" for k in range(60)]
    _, drive = read(tmp_path, "\n".join(lines) + "\n")
    assert drive.step_s == pytest.approx(0.05)
    assert drive.of["manifold_pressure"][0] == pytest.approx(40.0)
    assert drive.of["coolant"][0] == pytest.approx(80.0)


def test_milliseconds_without_a_unit_are_known_by_their_steps(tmp_path):
    lines = ["Time,RPM"] + [f"{k * 20},{900 + k}" for k in range(100)]
    _, drive = read(tmp_path, "\n".join(lines) + "\n")
    assert drive.step_s == pytest.approx(0.02)


@pytest.mark.parametrize(
    ("heading", "step", "step_s", "told"),
    [
        # one row in 50 s, or 20 000 a second, is no drive; five a second to a thousand are
        ("Time (s)", 50.0, 0.05, "headed s, but steps of 50 only make sense in ms"),
        ("Time (ms)", 0.05, 0.05, "headed ms, but steps of 0.05 only make sense in s"),
        ("Time (s)", 1.0, 1.0, ""),
        ("Time (s)", 3.9, 3.9, ""),
        ("Time (s)", 4.1, 0.0041, "headed s"),
        ("Time (ms)", 0.26, 0.00026, ""),
        ("Time (ms)", 0.24, 0.24, "headed ms"),
        ("Time (ms)", 1.0, 0.001, ""),
    ],
)
def test_a_heading_that_names_the_wrong_unit_of_time_is_not_believed(tmp_path, heading, step, step_s, told):
    lines = [f"{heading},RPM"] + [f"{k * step:g},{900 + k}" for k in range(100)]
    text = "\n".join(lines) + "\n"
    _, drive = read(tmp_path, text)
    assert drive.step_s == pytest.approx(step_s)
    assert (told in " ".join(drive.says)) if told else not drive.says
    recording = open_log(tmp_path / "drive.csv")
    typed = drive_of(recording, recognised(recording.columns, {}, {heading: "ms" if "ms" in heading else "s"}))
    assert typed.step_s == pytest.approx(step * (1e-3 if "ms" in heading else 1.0)), "what a person typed counts"


@pytest.mark.parametrize("factor", [1.0, 1000.0])
def test_a_long_parquet_is_in_the_unit_that_its_rows_tell_and_not_its_sample(tmp_path, factor):
    at = np.arange(360_000) * 0.02 * factor  # two hours at 50 a second; every 180th row of it is 3.6 s on
    pl.DataFrame({"Time": at, "RPM": 900.0 + at % 7.0}).write_parquet(tmp_path / "long.parquet")
    opened = open_log(tmp_path / "long.parquet")
    assert drive_of(opened, recognised(opened.columns)).step_s == pytest.approx(0.02)


def test_clock_text_is_read(tmp_path):
    lines = ["Time,RPM"] + [f"12:59:{58 + k * 0.25:06.3f},{900 + k}" for k in range(8)]
    lines += [f"13:00:{k * 0.25:06.3f},{908 + k}" for k in range(20)]
    _, drive = read(tmp_path, "\n".join(lines) + "\n")
    assert drive.stretch.max() == 0
    assert drive.lasts_s == pytest.approx(27 * 0.25)


def test_text_among_figures_is_blank_and_counted(tmp_path):
    lines = [*LINES]
    lines[120] = "5.95,fault,44,80"
    _, drive = read(tmp_path, "\n".join(lines) + "\n")
    assert drive.time_s.size == 200
    assert any("1 cells of RPM" in line for line in drive.says)


def test_half_a_file_loses_its_last_row_only(tmp_path):
    recording, drive = read(tmp_path, "\n".join(LINES) + "\n10.00,11")
    assert drive.time_s.size == 200
    assert any("half a file" in line for line in recording.says)


def test_two_logs_glued_together_are_two_stretches(tmp_path):
    _, drive = read(tmp_path, "\n".join(LINES) + "\n" + "\n".join(LINES) + "\n")
    assert drive.time_s.size == 400
    assert drive.stretch.tolist() == [0] * 200 + [1] * 200
    assert any("steps back once" in line for line in drive.says)
    assert any("headings" in line for line in drive.says)


UNITS = {"CLT (°C)": ("80", "176"), "MAP (kPa)": ("95", "0.95"), "Lambda": ("0.98", "14.41")}


@pytest.mark.parametrize("name", UNITS)
def test_a_joined_log_in_another_unit_is_told_and_left_out(tmp_path, name):
    own, other = UNITS[name]
    first = [f"Time (s),RPM,{name}"] + [f"{k * 0.05:.2f},{900 + k},{own}" for k in range(200)]
    second = [f"{k * 0.05:.2f},{900 + k},{other}" for k in range(100)]
    _, drive = read(tmp_path, "\n".join(first + second) + "\n")
    quantity = {"C": "coolant", "M": "manifold_pressure", "L": "mixture"}[name[0]]
    assert drive.of[quantity][0] == pytest.approx(float(own))
    assert np.isnan(drive.of[quantity][200:]).all()
    assert any(line.startswith(f"{name}: from") and "seems to be in" in line for line in drive.says)


def test_a_second_log_that_only_is_cold_is_in_the_same_unit(tmp_path):
    first = ["Time (s),RPM,CLT,MAP"] + [f"{k * 0.05:.2f},{900 + k},90,40" for k in range(200)]
    second = [f"{k * 0.05:.2f},{900 + k},18,95" for k in range(100)]
    _, drive = read(tmp_path, "\n".join(first + second) + "\n")
    assert np.isfinite(drive.of["coolant"]).all()
    assert np.isfinite(drive.of["manifold_pressure"]).all()


def test_a_slow_channel_holds_its_value_but_not_for_ever(tmp_path):
    lines = ["Time,RPM,CLT"]
    lines += [f"{k * 0.1:.1f},{900 + k},{80 if k % 5 == 0 and k < 50 else ''}" for k in range(200)]
    _, drive = read(tmp_path, "\n".join(lines) + "\n")
    assert np.isfinite(drive.of["coolant"][:55]).all()
    assert np.isnan(drive.of["coolant"][70:]).all()


def test_parquet_says_the_same_as_csv(tmp_path):
    path = tmp_path / "drive.parquet"
    frame = pl.DataFrame({"Time": np.arange(100) * 0.1, "RPM": np.arange(100) + 900.0})
    frame.write_parquet(path)
    recording = open_log(path)
    drive = drive_of(recording, recognised(recording.columns))
    assert drive.of["engine_speed"].tolist() == frame["RPM"].to_list()


def test_only_what_is_wanted_is_read(tmp_path):
    path = tmp_path / "drive.csv"
    path.write_text("\n".join(LINES))
    recording = open_log(path)
    drive = drive_of(recording, recognised(recording.columns), {"engine_speed"})
    assert set(drive.of) == {"engine_speed"}


def test_what_is_no_log_is_refused(tmp_path):
    with pytest.raises(BadDocument):
        open_log(tmp_path / "nothing.csv")
    (tmp_path / "a.mf4").write_bytes(b"MDF")
    with pytest.raises(BadDocument):
        open_log(tmp_path / "a.mf4")
    (tmp_path / "words.csv").write_text("to be\nor not\n")
    with pytest.raises(NoAnswer):
        open_log(tmp_path / "words.csv")


def test_every_quantity_has_names():
    assert {"time", "engine_speed", "mixture", "oil_pressure", "knock", "fan"} <= set(QUANTITIES)


def test_a_column_without_one_figure_counts_as_not_recorded_and_proves_nothing(tmp_path):
    """As in the open WLTP record of a simulator's demonstration: headings of what that car does not log, and blanks."""
    path = tmp_path / "road.csv"
    rows = [f"{k * 0.1:.1f},{2000 + 10 * (k % 7)},{30 + k % 5}.0,," for k in range(4000)]
    path.write_text(
        "Time [sec],OBD Engine Speed [rpm],OBD Velocity [km/h],Battery Voltage [V],Lambda\n" + "\n".join(rows)
    )
    drive = judged(open_log(path), Mapped())
    assert {one.quantity for one in drive.channels} == {"time", "engine_speed", "road_speed"}
    assert "Battery Voltage [V]" in drive.left
    charging = next(one for one in readiness(drive, (), ()).criteria if one.name == "charging")
    assert not charging.met
    typed = judged(open_log(path), Mapped(columns={"Battery Voltage [V]": "battery"}))
    assert any("Battery Voltage [V]: not one figure in it" in one for one in typed.says)
    assert "battery" not in {one.quantity for one in typed.channels}
