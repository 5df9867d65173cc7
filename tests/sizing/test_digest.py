"""What the shop takes for its work decides no size: such a row does not make kept decisions stale."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from loomwright.job.rows import HoursEntry, StockRow, VehicleProperty, Wish
from loomwright.sizing.stale import size_digest
from tests.handover.small_quote import sheets


@pytest.fixture(scope="module")
def job() -> Job:
    return job_from_text(sheets())


@pytest.mark.parametrize("name", ["owner", "rate_per_hour", "tax_percent", "title", "minutes_end_crimped"])
def test_terms_of_the_shop_leave_the_digest_as_it_is(job, name):
    more = replace(job, vehicle=(*job.vehicle, VehicleProperty(name=name, value="3")))
    assert size_digest(more) == size_digest(job)


def test_prices_wishes_and_hours_leave_the_digest_as_it_is(job):
    dearer = tuple(replace(row, price=99.0) for row in job.stock)
    more = replace(job, stock=(*dearer, StockRow(item="relay", price=4.0)), wishes=(Wish(id="horn"),))
    assert size_digest(replace(more, hours=(HoursEntry(minutes=5.0),))) == size_digest(job)


@pytest.mark.parametrize("name", ["system_voltage", "design_ambient_c"])
def test_what_the_car_is_changes_the_digest(job, name):
    more = replace(job, vehicle=(*job.vehicle, VehicleProperty(name=name, value="24")))
    assert size_digest(more) != size_digest(job)


def test_a_size_the_shop_did_not_hold_changes_the_digest(job):
    more = replace(job, stock=(*job.stock, StockRow(item="wire", size_mm2=6.0, length_m=10.0)))
    assert size_digest(more) != size_digest(job)
