"""FIT-1 and FIT-2: do wires go into the terminals and seals at their ends; and what that asks of a size."""

from __future__ import annotations

import pytest

from loomwright.car import Car
from loomwright.checked import _without_waived
from loomwright.findings import Finding, says
from loomwright.job.job import Job
from loomwright.job.rows import Connector, Crimp, Waiver, Wire
from loomwright.loom.end_crimps import end_crimps
from loomwright.sizing.fit_findings import fit_findings
from loomwright.sizing.stale import size_digest
from loomwright.states.asking.folding import Told
from tests.sizing.test_sized import fan_job

SEALED = Connector(id="X1", part="ECU", terminals=("A*",), family="2.8 mm and 1.5 mm, sealed")


def told(size_mm2: float, terminal: str = "", seal: str = "", **sheets) -> list[Finding]:
    wire = Wire(id="W1", from_="body", to="ECU.A1", size_mm2=size_mm2, terminal_to=terminal, seal_to=seal, fitted="new")
    return list(fit_findings(Job(wires=(wire,), **sheets)))


# ------------------------------------------------------------------------ FIT-1


def test_a_wire_too_thick_for_its_blade_is_a_warning_with_what_it_takes():
    (found,) = told(4.0, "2.8 mm blade")
    assert (found.rule, found.severity, found.found, found.allowed) == ("FIT-1", "warning", 4.0, 2.5)
    assert says(found).startswith(
        "W1 (wire, body to ECU.A1): the 2.8 mm blade does not take it: too thick for 0.5 to 1 or 1.5 to 2.5 mm² "
    )


def test_a_wire_just_as_thick_or_as_thin_as_its_blade_takes_is_left_alone():
    assert told(2.5, "2.8 mm blade") == told(0.5, "2.8 mm blade") == []
    assert [found.allowed for found in told(0.35, "2.8 mm blade")] == [0.5]


def test_the_jobs_own_sheet_goes_before_the_families():
    own = (Crimp(terminal="2.8 mm blade", size_from_mm2=2.5, size_to_mm2=4.0),)
    assert told(4.0, "2.8 mm blade", crimps=own) == []
    (found,) = told(1.0, "2.8 mm blade", crimps=own)
    assert (found.allowed, found.source) == (2.5, "")


def test_a_contact_known_by_its_connector_alone_is_a_note():
    assert [(one.rule, one.severity) for one in told(4.0, connectors=(SEALED,))] == [("FIT-1", "note")]
    assert told(2.5, connectors=(SEALED,)) == []
    assert told(4.0, connectors=(Connector(id="X1", part="ECU", family="round, old"),)) == []


def test_a_terminal_of_no_family_is_not_judged_and_neither_is_what_was_kept():
    assert told(95.0, "TP-44") == []
    kept = Wire(id="W1", from_="body", to="ECU.A1", size_mm2=4.0, terminal_to="2.8 mm blade", fitted="kept")
    assert list(fit_findings(Job(wires=(kept,)))) == []


def test_it_can_be_waived_at_the_wire():
    found = told(4.0, "2.8 mm blade")
    job = Job(waived=(Waiver(rule="FIT-1", point="W1", reason="tried"),))
    assert _without_waived(job, [Told(one, None, None) for one in found]) == []


# ------------------------------------------------------------------------ FIT-2


def test_a_seal_too_wide_for_the_insulation_is_a_warning_and_the_next_is_not():
    # 1 mm2 is 2.1 mm over its thin wall
    assert told(1.0, "2.8 mm blade", "seal for 2.8 mm, 2.1 to 3.0 mm") == []
    (found,) = told(0.75, "2.8 mm blade", "seal for 2.8 mm, 2.1 to 3.0 mm")
    assert (found.rule, found.severity, found.found, found.allowed) == ("FIT-2", "warning", 1.9, 2.1)
    assert "water gets past it" in found.wrong


def test_a_terminal_in_a_sealed_connector_without_a_seal_is_a_warning():
    (found,) = told(1.0, "2.8 mm blade", connectors=(SEALED,))
    assert (found.rule, found.at) == ("FIT-2", ("W1",))
    assert "seal_to" in found.mend
    assert told(1.0, "2.8 mm blade", "green", connectors=(SEALED,)) == []


# ------------------------------------------------------------------------ what it asks of a size


@pytest.fixture(scope="module")
def fan():
    """The fan's feed ends in a blade that takes no thin wire, its earth in a contact that takes no thick one."""
    job = fan_job(
        W4={"terminal_to": "9.5 mm blade"}, W3={"terminal_to": "0.64 mm contact"}, W5={"terminal_from": "M5 ring"}
    )
    return Car(job).sized()


def test_a_wire_is_as_thick_as_its_terminal_asks_and_it_is_said(fan):
    wire = fan.wires["W4"]
    assert (wire.size_mm2, wire.decided_by) == (4.0, "terminal")
    assert [(ask.asks, ask.thinner) for ask in wire.asks if ask.limit == "terminal"] == [(4.0, 2.5)]


def test_where_no_size_does_and_fits_none_is_decided_and_both_are_said(fan):
    assert fan.wires["W3"].size_mm2 is None
    (why,) = [one for one in fan.unsettled if one.cell == "W3.size_mm2"]
    assert "0.64 mm contact takes 0.22 to 0.5 mm²" in why.why
    assert "terminal" in why.mend


def test_a_size_rests_on_the_terminals_named_and_on_the_sheet_that_says_what_they_take():
    job = fan_job()
    named = fan_job(W4={"terminal_to": "9.5 mm blade"})
    assert size_digest(named) != size_digest(job) == size_digest(fan_job(W4={"seal_to": "green"}))


# ------------------------------------------------------------------------ on the lists


def test_strip_die_and_seal_come_from_the_family_where_the_job_has_no_row():
    wire = Wire(id="W1", from_="body", to="ECU.A1", size_mm2=1.0, terminal_to="2.8 mm blade", fitted="new")
    (one,) = end_crimps(Job(wires=(wire,), connectors=(SEALED,)))
    assert (one.barrel, one.strip_mm, one.die) == ("2.8 mm blade, 0.5 to 1 mm²", 4.5, "open barrel, 0.5 to 1 mm²")
    assert (one.proposed_seal, one.told) == ("seal for 2.8 mm, 1.4 to 2.1 mm", ())
