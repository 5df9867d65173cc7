"""Which proofs have to be taken again once a wire is worked on."""

from __future__ import annotations

from tests.loom.built_jobs import WHOLE, built, does, done, only

LAMP = {"test": "lamp lit", "point": "L1.1", "verdict": "passed", "time": "2026-05-01T10:00:00"}
OTHER = {"test": "other lit", "point": "L2.1", "verdict": "passed", "time": "2026-05-01T10:00:00"}


def names(told):
    return [proof.test for proof in told.proofs]


def test_a_proof_at_the_end_of_a_wire_that_is_worked_on_is_taken_again():
    told = built({"W1": {"colour": "GN"}}, done("W1", *WHOLE), proofs=[LAMP, OTHER])
    assert names(told) == ["lamp lit"]
    assert told.proofs[0].says == "lamp lit at L1.1: take it again, W1 is worked on."
    # 36 for the wire and 1.5 for the proof
    assert told.minutes == 37.5


def test_a_proof_elsewhere_on_the_circuit_is_taken_again_too():
    told = built({"W2": {"colour": "GN"}}, done("W2", *WHOLE), proofs=[LAMP, OTHER])
    assert [(proof.test, proof.wires) for proof in told.proofs] == [("lamp lit", ("W2",))]


def test_a_label_or_a_length_to_spare_leaves_the_proofs():
    shorter = built({"W1": {"length_mm": "500"}}, done("W1", "cut"), proofs=[LAMP])
    assert (does(shorter), names(shorter)) == (["shorten"], [])


def test_a_proof_of_a_wire_that_is_gone_is_taken_again():
    assert names(built({"W1": None, "W2": None}, done("W1", *WHOLE), proofs=[LAMP])) == ["lamp lit"]


def test_a_proof_that_did_not_pass_is_not_taken_away():
    assert names(built({"W1": {"colour": "GN"}}, done("W1", *WHOLE), proofs=[{**LAMP, "verdict": "failed"}])) == []


def test_only_the_last_proof_of_a_test_counts():
    told = built({"W1": {"colour": "GN"}}, done("W1", *WHOLE), proofs=[LAMP, LAMP])
    assert [proof.row for proof in told.proofs] == [1]


def test_work_later_than_a_proof_takes_it_away():
    seated = {"wire": "W1", "end": "to", "step": "seated", "revision": "3"}
    before = built(progress=[*done("W1", "cut"), {**seated, "time": "2026-05-01T09:00:00"}], proofs=[LAMP])
    after = built(progress=[*done("W1", "cut"), {**seated, "time": "2026-05-01T11:00:00"}], proofs=[LAMP])
    assert (names(before), names(after)) == ([], ["lamp lit"])
    assert after.proofs[0].says.endswith("W1 was worked on after it.")


def test_a_time_that_cannot_be_read_takes_nothing_away():
    seated = {"wire": "W1", "end": "to", "step": "seated", "revision": "3", "time": "after lunch"}
    assert names(built(progress=[*done("W1", "cut"), seated], proofs=[LAMP])) == []


def test_a_wire_proved_before_it_is_worked_on_is_proved_again():
    told = built({"W1": {"from": "ECU.A3"}}, [*done("W1", "cut", "both:seated"), *done("W1", "proved")])
    assert does(told) == ["re-pin", "prove"]
    # extract 4, seat 1, prove 1.5
    assert only(told).minutes == 6.5
