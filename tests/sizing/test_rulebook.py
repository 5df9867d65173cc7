"""The families of rules: each told apart, and each asking for its own codes and no other."""

import pytest

from loomwright.car import Car
from loomwright.examples.shelf import example_folder
from loomwright.sheets.csv_folder import open_folder
from loomwright.sizing.rulebook import EVERY_FAMILY
from loomwright.states.asking.scene import Scene


@pytest.fixture(scope="module")
def seen() -> Scene:
    return Car(open_folder(example_folder("van-as-drawn"))).scene


@pytest.mark.parametrize("family", EVERY_FAMILY, ids=lambda family: family.name)
def test_a_family_asks_for_its_own_codes(family, seen: Scene):
    asked = [] if family.watches is None else [watch.rule for watch in family.watches(seen)]
    found = [] if family.sheet_findings is None else [told.finding.rule for told in family.sheet_findings(seen)]
    assert [rule for rule in (*asked, *found) if not rule.startswith(f"{family.codes}-")] == []
    assert family.watches is not None or family.sheet_findings is not None


def test_no_two_families_have_one_name():
    assert len({family.name for family in EVERY_FAMILY}) == len(EVERY_FAMILY)
