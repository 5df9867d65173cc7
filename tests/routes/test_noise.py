"""RTE-9, signals beside what disturbs them, and the way round that is taken for them where there is one."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomwright.checked import route_notes
from loomwright.routes.noise import noise_findings
from loomwright.routes.route_findings import route_findings
from loomwright.routes.wire_routes import wire_routes
from loomwright.tables.kinds import load_kinds
from loomwright.tables.limits import CLASSES, noise_of
from tests.routes.looms import between, loom, routes

CIRCUITS = [
    {"id": "coil", "class": "ignition"},
    {"id": "knock", "class": "sensor"},
    {"id": "lamps", "class": "lighting"},
]
ONE_WAY = ("R1 a b 1000",)
COIL = between("W1", "a", "b", circuit="coil")
KNOCK = between("W2", "a", "b", circuit="knock")


def told(*wires, runs=ONE_WAY):
    job = loom(runs, wires, circuits=CIRCUITS)
    return [one for one in route_findings(job, routes(job)) if one.rule == "RTE-9"]


def test_a_signal_beside_a_coil_all_the_way_is_told_with_the_length_they_share():
    (found,) = told(COIL, KNOCK)
    assert (found.severity, found.at, found.found, found.allowed, found.unit) == (
        "note",
        ("W2", "W1"),
        1000.0,
        300.0,
        "mm",
    )
    assert "R1" in found.touches
    assert found.mend.startswith("There is no way round for W2")
    assert "screen it" in found.mend


def test_as_long_as_is_allowed_is_left_alone():
    assert told(COIL, KNOCK, runs=("R1 a b 300",)) == []
    assert len(told(COIL, KNOCK, runs=("R1 a b 301",))) == 1


@pytest.mark.parametrize("more", [{"screen": "S1"}, {"twist": "T1"}])
def test_a_screened_or_twisted_signal_is_not_told(more):
    assert told(COIL, {**KNOCK, **more}) == []


def test_a_screened_coil_a_lamp_and_two_old_wires_are_not_told():
    assert told({**COIL, "screen": "S1"}, KNOCK) == []
    assert told(between("W1", "a", "b", circuit="lamps"), KNOCK) == []
    assert told({**COIL, "fitted": "kept"}, {**KNOCK, "fitted": "kept"}) == []


def test_it_can_be_waived_at_the_run():
    job = loom(
        ONE_WAY, [COIL, KNOCK], circuits=CIRCUITS, waived=[{"rule": "RTE-9", "point": "R1", "reason": "measured"}]
    )
    assert [one for one in route_notes(job, routes(job)) if one.rule == "RTE-9"] == []


COILS = [{"id": f"coil{number}", "class": "ignition"} for number in (1, 2, 3)]
THREE = [between(f"C{number}", "a", "b", circuit=f"coil{number}") for number in (1, 2, 3)]


def told_of(runs, wires, waived=()):
    job = loom(runs, wires, circuits=[*CIRCUITS, *COILS], waived=waived)
    return [one for one in route_notes(job, routes(job)) if one.rule == "RTE-9"]


def test_a_signal_beside_three_coils_is_told_once_with_all_of_them_and_the_longest_shared():
    wires = [*THREE[:1], between("C2", "a", "c", circuit="coil2"), between("C3", "b", "c", circuit="coil3")]
    (found,) = told_of(("R1 a b 400", "R2 b c 500"), [*wires, between("W2", "a", "c", circuit="knock")])
    assert found.label == "knock (W2) beside coil2 (C2), coil3 (C3), coil1 (C1)"
    assert (found.severity, found.at, found.found) == ("note", ("W2", "C2"), 900.0)
    assert set(found.touches) == {"R1", "R2", "C1", "C3"}
    assert found.wrong.endswith("in R1 R2, the longest beside coil2")


def test_a_coil_that_is_beside_it_for_less_than_counts_is_not_named():
    wires = [THREE[0], between("C2", "b", "c", circuit="coil2"), between("W2", "a", "c", circuit="knock")]
    (found,) = told_of(("R1 a b 400", "R2 b c 300"), wires)
    assert found.label == "knock (W2) beside coil1 (C1)"
    assert found.wrong.endswith("in R1")


def test_two_signals_beside_three_coils_are_two_findings():
    both = [KNOCK, between("W3", "a", "b", circuit="cam")]
    job = loom(ONE_WAY, [*THREE, *both], circuits=[*CIRCUITS, *COILS, {"id": "cam", "class": "sensor"}])
    assert [one.at[0] for one in route_findings(job, routes(job)) if one.rule == "RTE-9"] == ["W3", "W2"]


def test_one_coil_waived_leaves_the_others_told():
    at_c1 = {"rule": "RTE-9", "point": "C1", "reason": "measured"}
    (found,) = told_of(ONE_WAY, [*THREE, KNOCK], [at_c1])
    assert found.label == "knock (W2) beside coil2 (C2), coil3 (C3)"
    assert "C1" not in {*found.at, *found.touches}
    assert told_of(ONE_WAY, [*THREE, KNOCK], [{**at_c1, "point": "W2"}]) == []


# ------------------------------------------------------------------------ the way that is taken

ROUND = ("R1 a b 1000", "R2 a c 700", "R3 c b 700")


def way(job, wire):
    return wire_routes(job, load_kinds()).wires[wire].runs


def test_a_signal_is_led_off_a_noisy_wire_where_the_way_round_is_not_half_as_long_again():
    job = loom(ROUND, [COIL, KNOCK], circuits=CIRCUITS)
    assert (way(job, "W1"), way(job, "W2")) == (("R1",), ("R2", "R3"))  # 1400 against 1000 x 1.5
    longer = loom(("R1 a b 1000", "R2 a c 800", "R3 c b 800"), [COIL, KNOCK], circuits=CIRCUITS)
    assert way(longer, "W2") == ("R1",)  # 1600
    (found,) = noise_findings(longer, {wire.id: wire for wire in longer.wires}, routes(longer))
    assert found.mend.startswith("Lead W2 by R2 R3 (via), 600 mm longer")


def test_without_the_noisy_wire_or_with_a_screen_the_signal_goes_the_short_way():
    assert way(loom(ROUND, [KNOCK], circuits=CIRCUITS), "W2") == ("R1",)
    assert way(loom(ROUND, [COIL, {**KNOCK, "screen": "S1"}], circuits=CIRCUITS), "W2") == ("R1",)
    assert way(loom(ROUND, [between("W1", "a", "b", circuit="lamps"), KNOCK], circuits=CIRCUITS), "W2") == ("R1",)


def test_the_noisy_wire_gone_its_run_is_quiet_again():
    job = loom(ROUND, [COIL, KNOCK], circuits=CIRCUITS)
    gone = replace(job, wires=tuple(replace(w, fitted="removed") if w.id == "W1" else w for w in job.wires))
    assert way(gone, "W2") == ("R1",)


def test_every_class_gives_noise_takes_it_or_neither():
    assert [name for name in CLASSES if noise_of(name) == "gives"] == ["charging", "starting", "ignition"]
    assert [name for name in CLASSES if noise_of(name) == "takes"] == ["sensor", "data"]
