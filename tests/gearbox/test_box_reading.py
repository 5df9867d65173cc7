"""A gearbox file is taken in whole or refused with every place to mend, each with its mend."""

from __future__ import annotations

import pytest

from loomwright.gearbox.box_reading import box_from_rows, box_from_text, shipped_box
from loomwright.gearbox.tyre import tyre_of
from loomwright.refusals import BadDocument, OutOfReach
from loomwright.tables.load import read_rows

GOOD = """
ratios = [2.8, 1.54, 1.0]
final_drive = 3.45
tyre = "205/65R15"
mass_kg = 1480
[engine]
limit_rpm = 6000
torque = [[800, 165], [2000, 220], [3500, 250], [5000, 220], [6000, 180]]
"""


def problems_of(text: str) -> dict[str, str]:
    with pytest.raises(BadDocument) as refused:
        box_from_text(text, name="mine.toml")
    assert all(one.mend for one in refused.value.problems)
    return {one.column: one.says for one in refused.value.problems}


def test_what_is_left_out_is_typical_and_says_so() -> None:
    box = box_from_text(GOOD)
    assert box.extent == ("road load typical", "converter typical")
    assert [one.name for one in box.programmes] == ["normal"]


def test_a_curve_estimated_from_the_size_says_so() -> None:
    text = GOOD[: GOOD.index("torque")] + "litres = 2.8\n"
    box = box_from_text(text)
    assert box.engine.is_estimated
    assert max(box.engine.torque_nm) == pytest.approx(75.0 * 2.8)
    assert any("estimated" in what for what in box.extent)


def test_a_ratio_of_nothing_is_refused_with_its_place() -> None:
    assert "0 as number 2" in problems_of(GOOD.replace("1.54", "0"))["ratios"]


def test_gears_in_the_wrong_order_are_refused() -> None:
    assert "first to last" in problems_of(GOOD.replace("[2.8, 1.54, 1.0]", "[1.0, 1.54, 2.8]"))["ratios"]


def test_a_curve_with_a_hole_is_refused_with_where_it_is() -> None:
    says = problems_of(GOOD.replace("[3500, 250], [5000, 220], ", ""))["engine.torque"]
    assert "nothing between 2000 and 6000" in says


def test_a_point_of_the_curve_with_one_figure_is_refused() -> None:
    assert "engine.torque" in problems_of(GOOD.replace("[3500, 250]", "[3500]"))


@pytest.mark.parametrize(
    ("typed", "nearest"),
    [("205-65-15", "205/65R15"), ("205/65/15", "205/65R15"), ("2O5/65R15", ""), ("20565R15", "205/65R15")],
)
def test_a_mistyped_tyre_is_refused_with_the_nearest(typed: str, nearest: str) -> None:
    says = problems_of(GOOD.replace("205/65R15", typed))["tyre"]
    assert nearest in says


def test_a_tyre_that_nobody_makes_is_refused() -> None:
    with pytest.raises(OutOfReach, match="rim of 10 to 24"):
        tyre_of("205/65R51")


def test_a_programme_with_a_wish_nobody_knows_is_refused_with_the_nearest() -> None:
    says = problems_of(GOOD + '[programmes.mine]\nwish = "sprot"\n')["programmes.mine.wish"]
    assert "Write sport" in says


def test_every_place_is_told_at_once() -> None:
    text = GOOD.replace("2.8", "0").replace("205/65R15", "x").replace("mass_kg = 1480", "mass_kg = 3")
    assert set(problems_of(text)) >= {"ratios", "tyre", "mass_kg"}


def test_what_is_no_toml_is_refused_with_the_line() -> None:
    assert "line 2" in problems_of("\nratios = 2.8, 1.5\n")[""]


def test_rows_of_the_sheet_vehicle_are_the_same_gearbox() -> None:
    rows = [
        ("title", "car"),
        ("gear.ratios", "[2.8, 1.54, 1.0]"),
        ("gear.final_drive", "3.45"),
        ("gear.tyre", "205/65R15"),
        ("gear.mass_kg", "1480"),
        ("gear.engine.limit_rpm", "6000"),
        ("gear.engine.torque", "[[800, 165], [2000, 220], [3500, 250], [5000, 220], [6000, 180]]"),
    ]
    assert box_from_rows(rows) == box_from_text(GOOD)
    assert box_from_rows([("title", "car")]) is None
    with pytest.raises(BadDocument, match=r"sheet vehicle, gear\.tyre"):
        box_from_rows([*rows[:3], ("gear.tyre", "205"), *rows[4:]])


def test_the_gearbox_that_ships_has_four_programmes() -> None:
    assert [one.wish for one in shipped_box().programmes] == [row["wish"] for row in read_rows("gear_wishes")]


@pytest.mark.parametrize(("third", "is_taken"), [("1.50", True), ("1.509", True), ("1.511", False), ("1.53", False)])
def test_two_gears_that_are_all_but_one_are_refused(third: str, is_taken: bool) -> None:
    # a gear lies at least a fiftieth below the one before it: 1.54 / 1.02 = 1.5098
    text = GOOD.replace("1.54, 1.0", f"1.54, {third}")
    if is_taken:
        assert box_from_text(text).ratios[2] == float(third)
    else:
        assert "each lower than the one before" in problems_of(text)["ratios"]


@pytest.mark.parametrize(
    ("torque", "told"),
    [
        # a point at least every 1600 1/min, the first within 800 of idle (750) and the last within 800 of the limit
        ("[[800, 165], [2390, 220], [3900, 250], [5300, 220]]", ""),
        ("[[800, 165], [2410, 220], [3900, 250], [5300, 220]]", "nothing between 800 and 2410"),
        ("[[1540, 165], [2900, 220], [4400, 250], [5300, 220]]", ""),
        ("[[1560, 165], [2900, 220], [4400, 250], [5300, 220]]", "begins at 1560"),
        ("[[800, 165], [2200, 220], [3700, 250], [5210, 220]]", ""),
        ("[[800, 165], [2200, 220], [3700, 250], [5190, 220]]", "ends at 5190"),
    ],
)
def test_a_torque_curve_has_no_hole_and_reaches_from_idle_to_the_limit(torque: str, told: str) -> None:
    text = GOOD[: GOOD.index("torque")] + f"torque = {torque}\n"
    if told:
        assert told in problems_of(text)["engine.torque"]
    else:
        assert len(box_from_text(text).engine.torque_nm) == 4
