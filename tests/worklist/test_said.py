"""What was answered becomes a row: judged by the band that was on the screen, kept though it is strange."""

from __future__ import annotations

import pytest

from loomwright.refusals import OutOfReach
from loomwright.worklist.said import Said, row_said
from loomwright.worklist.thing import Asks

TIME = "2026-01-02T08:00:00+00:00"
VOLTS = Asks(kind="figure", unit="V", low=11.9, high=13.3, most=19.2, waivable=True, measure="volts")


def row(sheet, cells, asks, **said):
    return dict(row_said(sheet, cells, asks, Said(**said), time=TIME, who="sam", revision=7))


def test_a_step_is_a_row_of_progress_with_the_revision_it_was_built_from():
    cells = {"wire": "W2", "end": "from", "step": "crimped"}
    assert row("progress", cells, Asks()) == {**cells, "revision": "7", "time": TIME, "who": "sam"}


def test_another_length_than_was_asked_is_the_one_that_is_kept():
    cells = {"wire": "W2", "end": "both", "step": "cut", "length_mm": "340"}
    assert row("progress", cells, Asks(unit="mm"), value="360")["length_mm"] == "360"
    assert row("progress", cells, Asks(unit="mm"))["length_mm"] == "340"


@pytest.mark.parametrize(
    ("value", "verdict"), [("11.9", "passed"), ("13.3", "passed"), ("11.8", "failed"), ("130", "failed")]
)
def test_a_reading_is_judged_by_its_band_and_never_turned_away(value, verdict):
    kept = row("proofs", {"test": "live/battery", "unit": "V"}, VOLTS, value=value)
    assert (kept["value"], kept["verdict"], kept["low"], kept["high"]) == (value, verdict, "11.9", "13.3")


def test_a_test_that_could_not_be_made_says_why():
    kept = row("proofs", {"test": "live/battery"}, VOLTS, is_let_go=True, note="cannot be reached")
    assert (kept["verdict"], kept["notes"]) == ("not done", "cannot be reached")
    with pytest.raises(OutOfReach):
        row("proofs", {"test": "live/battery"}, VOLTS, is_let_go=True)


def test_open_is_a_reading_of_ohms():
    asks = Asks(kind="figure", unit="ohm", low=1e6, words=("open",), measure="ohms")
    assert row("proofs", {"test": "dead/1", "unit": "ohm"}, asks, value="open")["verdict"] == "passed"


def test_an_item_of_the_first_start_is_passed_failed_or_let_go_with_a_reason():
    asks = Asks(kind="figure", unit="bar", low=2.5, high=3.5, waivable=True)
    cells = {"gate": "rail", "stage": "first start"}
    assert row("gates", cells, asks, value="3")["verdict"] == "passed"
    assert row("gates", cells, asks, value="4")["verdict"] == "failed"
    assert row("gates", cells, Asks(kind="words", words=("yes", "no"), word="yes"), value="no")["verdict"] == "failed"
    assert row("gates", cells, asks, is_let_go=True, note="no gauge")["reason"] == "no gauge"
    with pytest.raises(OutOfReach):
        row("gates", cells, Asks(kind="words", words=("yes", "no")), is_let_go=True, note="lazy")


def test_a_reading_of_an_old_wire_is_a_figure_a_word_or_what_lit():
    cells = {"old_wire": "7", "when": "key=run", "measure": "volts"}
    volts = Asks(kind="figure", unit="V", words=("pulsing",), measure="volts")
    assert (
        row("readings", cells, volts, value="12.1")["unit"],
        row("readings", cells, volts, value="12.1")["visit"],
    ) == ("V", "2026-01-02")
    assert row("readings", cells, volts, value="pulsing")["value"] == "pulsing"
    seen = Asks(kind="words", words=("needle",), measure="seen")
    assert row("readings", {**cells, "measure": "lamp"}, seen, value="needle")["seen"] == "needle"


@pytest.mark.parametrize("value", ["", "many", "12,4 V"])
def test_what_is_no_answer_is_refused(value):
    with pytest.raises(OutOfReach):
        row("readings", {"old_wire": "7"}, Asks(kind="figure", unit="V", measure="volts"), value=value)
