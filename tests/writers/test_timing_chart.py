"""The line through readings of a timing light is drawn where it is, and what leaves the drawing is cut, not bent."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest

from loomwright.startup.timing import TimingReading, timing_of
from loomwright.writers.timing_chart import timing_chart

TOP, FOOT = 34.0, 354.0


def lines_of(*off):
    readings = [TimingReading(rpm=rpm, commanded_deg=10, seen_deg=10 + deg) for rpm, deg in off]
    drawn = timing_chart(readings, timing_of(readings, cylinders=4))
    found = re.findall(r'<polyline points="([^"]+)" fill="none" stroke="[^"]+" stroke-width="([^"]+)"', drawn)
    return [([tuple(map(float, pair.split(","))) for pair in points.split()], width) for points, width in found]


def test_a_line_that_rises_above_every_reading_stays_straight():
    # 4 degrees at nothing, a degree less for every 1000 a minute; only the middle of it was read
    lines = lines_of((1500, 2.5), (2000, 2.0), (3000, 1.0), (4000, 0.0))
    [whole] = [points for points, width in lines if width == "1.5"]
    slopes = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(whole)]
    assert max(slopes) - min(slopes) < 0.02
    assert min(y for _, y in whole) >= TOP
    assert whole[0][1] < whole[-1][1] - 100.0


def test_a_wide_band_ends_where_it_leaves_the_drawing():
    lines = lines_of((900, 1.9), (2000, 2.8), (3000, 0.1), (4000, 0.4))
    upper, lower = (points for points, width in lines if width == "1")
    assert [upper[0][1], upper[-1][1]] == pytest.approx([TOP, TOP])
    assert [lower[0][1], lower[-1][1]] == pytest.approx([FOOT, FOOT])
    inside = [y for points in (upper, lower) for _, y in points[1:-1]]
    assert all(TOP < y < FOOT for y in inside)
