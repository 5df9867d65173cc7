"""What was read stays with the job: the light since the last correction, each sensor by its newest points."""

from __future__ import annotations

import numpy as np
import pypdfium2
import pytest

from loomwright.handover.kept_sheet import LIGHT_CHART, kept_sheet, sensor_chart
from loomwright.handover.start_sheet import start_sheet
from loomwright.job.edits import add_row
from loomwright.job.job import Job
from loomwright.refusals import BadDocument, OutOfReach
from loomwright.startup.first_start import first_start
from loomwright.startup.job_sensors import job_sensors, pull_up_of
from loomwright.startup.kept_readings import kept_sensors, kept_timing, light_cells, sensor_cells
from loomwright.startup.timing import TimingReading
from loomwright.writers.start_paper import start_pdf
from loomwright.writers.timing_chart import timing_chart

THERMISTOR = {"sensor": "coolant", "thermistor": "0:5975 50:806.9 100:175.7", "pull_up": "1000"}


def light(offset, speeds=(1000, 2000, 3000, 4000)):
    return [TimingReading(rpm=n, commanded_deg=10.0, seen_deg=10.0 + offset) for n in speeds]


def with_rows(sheet, rows, job=None):
    made = job or Job()
    for cells in rows:
        made = add_row(made, sheet, {**cells, "time": "2026-05-01T10:00"})
    return made


def test_the_light_s_readings_since_the_last_correction_count_and_no_earlier_ones():
    job = with_rows("light_readings", light_cells(light(6.0), wheel="60-2", mark="1"))
    first = kept_timing(job)
    assert first.found.mistakes == ("one tooth off",), "the wheel is kept beside the readings"
    job = with_rows("light_readings", light_cells(light(0.2), changed="tooth count by one"), job)
    after = kept_timing(job)
    assert (len(after.readings), after.changed, after.found.is_true) == (4, "tooth count by one", True)


def test_nothing_read_is_none_and_what_cannot_be_fitted_says_why():
    assert kept_timing(Job()) is None
    assert kept_sensors(Job()) is None
    odd = kept_timing(with_rows("light_readings", light_cells(light(0.0), wheel="six")))
    assert odd.found is None
    assert "teeth six" in odd.why


def test_a_point_measured_again_counts_as_it_was_read_last():
    job = with_rows("sensor_points", sensor_cells(THERMISTOR))
    job = with_rows("sensor_points", sensor_cells(THERMISTOR | {"thermistor": "50:800"}), job)
    [kept] = kept_sensors(job).curves
    assert [(row.real, row.shown) for row in kept.points] == [(0.0, 5975.0), (50.0, 800.0), (100.0, 175.7)]
    assert kept.curve.curve.temperature_c(800.0) == pytest.approx(50.0, abs=1e-6)
    assert "1000 Ω" in kept.curve.table.says


def test_of_many_points_the_ends_and_the_middle_fix_the_curve():
    more = THERMISTOR | {"thermistor": "-20:15971 0:5975 40:1152 60:575.8 100:175.7"}
    [kept] = kept_sensors(with_rows("sensor_points", sensor_cells(more))).curves
    assert [row.real for row in kept.points] == [-20.0, 40.0, 100.0]


def test_three_points_are_taken_as_they_are_and_of_four_one_is_left_out():
    three = THERMISTOR | {"thermistor": "0:5975 20:2500 100:175.7"}
    [kept] = kept_sensors(with_rows("sensor_points", sensor_cells(three))).curves
    assert [row.real for row in kept.points] == [0.0, 20.0, 100.0]
    four = THERMISTOR | {"thermistor": "0:5975 20:2500 60:575.8 100:175.7"}
    [kept] = kept_sensors(with_rows("sensor_points", sensor_cells(four))).curves
    assert [row.real for row in kept.points] == [0.0, 60.0, 100.0], "the one nearest the middle between the ends"
    assert kept.curve is not None


def test_points_that_do_not_fall_make_no_curve_and_say_so():
    [kept] = kept_sensors(
        with_rows("sensor_points", sensor_cells(THERMISTOR | {"thermistor": "0:5975 50:6100"}))
    ).curves
    assert kept.curve is None
    assert kept.why


def test_what_does_not_agree_before_the_crank_and_an_earth_that_is_up_are_told():
    typed = {"hours": "12", "air_c": "18", "coolant_sensor_c": "26", "earth": "coolant=2.51/2.56; air=2.4/2.46"}
    kept = kept_sensors(with_rows("sensor_points", sensor_cells(typed)))
    assert kept.looked
    assert "26 °C" in kept.says[0]
    assert "One earth that is up" in kept.says[1]
    again = sensor_cells(typed | {"coolant_sensor_c": "19", "earth": ""})
    assert "26 °C" not in " ".join(kept_sensors(with_rows("sensor_points", again)).says)


def test_points_without_their_sensor_and_figures_that_are_none_are_refused():
    with pytest.raises(OutOfReach, match="sensor"):
        sensor_cells({"thermistor": "0:5975 50:806.9"})
    with pytest.raises(BadDocument):
        sensor_cells({"hours": "12", "air_c": "cool"})


def test_they_stand_on_the_papers_with_the_light_s_line_drawn():
    job = with_rows("light_readings", light_cells(light(2.0)))
    job = with_rows("sensor_points", sensor_cells(THERMISTOR), job)
    timing, sensors = kept_timing(job), kept_sensors(job)
    kept = kept_sheet(timing, sensors)
    charts = {LIGHT_CHART: timing_chart(timing.readings, timing.found)}
    assert kept.sensors[0].chart == sensor_chart("coolant")
    pdf = start_pdf(start_sheet("A car", first_start(job), None, "No engine.", kept), charts)
    words = " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in pypdfium2.PdfDocument(pdf))
    assert "Base timing" in words
    assert "2.0° later" in words
    assert "5975 ohm" in words
    assert "2026-05-01T10:00" in words


def test_a_thermistor_of_the_job_is_read_with_the_pull_up_of_its_own_pin():
    job = Job()
    for sheet, cells in (
        ("parts", {"id": "ECM", "kind": "controller"}),
        ("parts", {"id": "CTS", "kind": "sensor_ntc", "name": "Coolant temperature"}),
        (
            "controller_pins",
            {"id": "P1", "part": "ECM", "terminal": "A1", "abilities": "temperature_input", "pull_up_ohm": "1000"},
        ),
        ("wires", {"id": "W1", "from": "CTS.1", "to": "ECM.A1"}),
        *(
            ("sensor_points", {"sensor": "CTS", "about": "curve", "shown": ohm, "shown_unit": "ohm", "real": real})
            for real, ohm in (("0", "5975"), ("50", "806.9"), ("100", "175.7"))
        ),
    ):
        job = add_row(job, sheet, cells)
    assert [(one.part, one.at, one.pull_up_ohm) for one in job_sensors(job)] == [("CTS", "ECM.A1", 1000.0)]
    assert pull_up_of(job, "coolant temperature") == 1000.0
    assert pull_up_of(job, "oil") is None
    [curve] = kept_sensors(job).curves
    assert "1000" in curve.curve.table.says
    # 5 V behind 1000 ohm over 806.9 ohm
    volts = np.interp(50.0, *zip(*sorted((row[1], row[0]) for row in curve.curve.table.rows), strict=True))
    assert volts == pytest.approx(5.0 * 806.9 / 1806.9, abs=0.02)


def test_a_thermistor_nobody_says_a_pull_up_of_stands_behind_2490_ohm_at_5_v():
    # behind as many ohms as it has itself a thermistor reads half of 5 V, whatever else is true of it
    points = sensor_cells({"sensor": "oil", "thermistor": "0:9000 40:2490 100:400"})
    [kept] = kept_sensors(with_rows("sensor_points", points)).curves
    rows = sorted((row[1], row[0]) for row in kept.curve.table.rows)
    assert "2490 Ω" in kept.curve.table.says
    assert np.interp(40.0, *zip(*rows, strict=True)) == pytest.approx(2.5, abs=0.02)


def test_volts_that_one_earth_lifts_are_told_as_volts_of_a_5_v_supply():
    # by hand: an earth 0.1 V up lifts what reads E of 5 V by 0.1 (1 - E / 5): 2.5 -> 2.55, 1.0 -> 1.08
    typed = {"hours": "12", "air_c": "18", "earth": "coolant=2.5/2.55; air=1/1.08"}
    told = " ".join(kept_sensors(with_rows("sensor_points", sensor_cells(typed))).says)
    assert "One earth that is up by 100 mV explains coolant, air together" in told
