"""Whole cars with sizes and ratings decided have nothing left that a size or a rating could mend."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import pytest

from loomwright.car import Car
from loomwright.findings import Finding
from loomwright.job.job import Job
from loomwright.sizing.open_cells import with_choice
from tests.sizing.blank_cars import as_typed, with_blanks


def every(findings: Iterable[Finding]) -> Iterator[Finding]:
    for finding in findings:
        yield finding
        yield from every(finding.folded)


def of_size(job: Job) -> set[tuple[str, tuple[str, ...]]]:
    """Faults and warnings of fuses, ratings and drops."""
    found = [one for one in every(Car(job).check().findings) if one.severity != "note"]
    return {(one.rule, one.at) for one in found if one.rule[:3] in ("PRO", "RAT", "DRP") and one.rule != "PRO-1"}


def decided(job: Job) -> Job:
    """The job with what is decided in its cells; nothing may stay open."""
    sized = Car(job).sized()
    assert sized.unsettled == ()
    assert {**sized.sizes_mm2(), **sized.ratings_a()}.keys() == sized.decided
    return with_choice(job, sized.sizes_mm2(), sized.ratings_a())


def test_the_tourer_with_its_thin_wires_decided_has_no_new_trouble():
    job = with_blanks(as_typed("tourer"), up_to_mm2=1.5, fuses=4)
    assert sum(wire.size_mm2 is None for wire in job.wires) > 40
    assert of_size(decided(job)) <= of_size(as_typed("tourer"))


def test_every_size_is_asked_for_by_the_limit_that_ruled():
    sized = Car(with_blanks(as_typed("tourer"), up_to_mm2=1.5, fuses=4)).sized()
    for name in sized.sizes_mm2():
        wire = sized.wires[name]
        ruled = [ask.asks for ask in wire.asks if ask.limit == wire.decided_by]
        assert wire.size_mm2 is not None
        assert ruled == [wire.size_mm2], name
        assert all(ask.asks is None or ask.asks <= wire.size_mm2 for ask in wire.asks), name


def test_the_shortcuts_change_no_choice(monkeypatch):
    job = with_blanks(as_typed("tourer"), up_to_mm2=1.5, fuses=4)
    short = Car(job).sized()
    monkeypatch.setattr("loomwright.sizing.met.most_beyond", lambda *_: None)
    long = Car(job).sized()
    assert long.solved > short.solved
    assert short.sizes_mm2() == long.sizes_mm2()
    assert short.ratings_a() == long.ratings_a()


def test_rows_in_another_order_give_the_same_choice():
    job = with_blanks(as_typed("tourer"), up_to_mm2=1.0, fuses=2)
    turned = replace(job, wires=tuple(reversed(job.wires)), parts=tuple(reversed(job.parts)))
    one, other = Car(job).sized(), Car(turned).sized()
    assert one.sizes_mm2() == other.sizes_mm2()
    assert one.ratings_a() == other.ratings_a()
    assert one.copper_g == pytest.approx(other.copper_g)


@pytest.mark.long
@pytest.mark.parametrize("name", ["tourer", "van"])
def test_a_car_with_everything_blank_has_no_trouble_of_size_at_all(name):
    job = with_blanks(as_typed(name), up_to_mm2=1000.0, fuses=60)
    assert sum(wire.size_mm2 is None for wire in job.wires) > 60
    found = decided(job)
    assert of_size(found) <= of_size(as_typed(name))
    assert not any(finding.rule.startswith("REQ") for finding in every(Car(found).check().findings))
