"""The chosen sizes are those of least copper that break nothing, found again by trying every combination."""

from __future__ import annotations

import random

import pytest

from loomwright.car import Car
from loomwright.job.reading import job_from_text
from tests.sizing.small_open_jobs import (
    COPPER_G_PER_MM3,
    best_by_trying,
    blank_wires,
    faults_of,
    open_sheets,
    with_sizes,
)


def copper_g(job, sizes_mm2):
    length_mm = {wire.id: wire.length_mm for wire in job.wires}
    return sum(COPPER_G_PER_MM3 * size * length_mm[name] for name, size in sizes_mm2.items())


def compare(seed, most):
    """Gives what was compared: `same` copper, or `none` where no combination holds."""
    job = job_from_text(open_sheets(random.Random(seed)))
    if len(blank_wires(job)) > most:
        return "larger"
    sized = Car(job).sized()
    sizes, ratings = sized.sizes_mm2(), sized.ratings_a()
    best = best_by_trying(job, ratings)
    if best is None:
        assert sized.unsettled
        return "none"
    assert not sized.unsettled
    assert sized.proved
    assert faults_of(with_sizes(job, sizes, ratings), (*sizes, *ratings)) == []
    assert copper_g(job, sizes) == pytest.approx(best.copper_g, abs=1e-6)
    return "same"


def test_small_cars_get_the_least_copper_that_breaks_nothing():
    told = [compare(seed, 2) for seed in range(100, 160)]
    assert told.count("same") >= 6
    assert told.count("none") >= 1


@pytest.mark.long
def test_larger_cars_too():
    told = [compare(seed, 4) for seed in range(100, 220)]
    assert told.count("same") >= 40
