"""How far the first mend of every fault gets on the demonstration van as it was first drawn."""

from __future__ import annotations

import pytest

from loomwright.car import Car
from loomwright.cli.asking import open_car
from loomwright.trials.in_turn import mended_in_turn

pytestmark = pytest.mark.long


def test_the_first_mend_of_every_fault_in_turn_leaves_the_van_as_drawn_without_one():
    drawn = open_car("van-as-drawn")

    def ask(job, findings, finding, tell):
        return Car(job).mends(finding, most=1, among=findings)

    turned = mended_in_turn(drawn.job, drawn.check().findings, ask)
    assert [(one.rule, one.at[0]) for one in turned.left if one.severity == "fault"] == []
