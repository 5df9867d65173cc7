"""What a mend takes is told with its price, and what has no price is told as such."""

from __future__ import annotations

import pytest

from loomwright.findings import Finding
from loomwright.job.edits import add_row, set_cell
from loomwright.tables.kinds import load_kinds
from loomwright.trials.cost import Bought, Cost, cost_of
from loomwright.trials.mend import Mend, cost_words
from tests.states.small_jobs import car

KINDS = load_kinds()
STOCK = (
    {"item": "relay", "price": "4.8"},
    {"item": "fuse blade c", "price": "0.35"},
    {"item": "wire", "size_mm2": "1.5", "length_m": "50", "price": "20"},
)


def taken(*rows: tuple[str, dict[str, str]], stock: tuple[dict[str, str], ...] = STOCK) -> Cost:
    """What it takes to add some rows to the small car."""
    before = car(stock=stock)
    after = before
    for sheet, cells in rows:
        after = add_row(after, sheet, cells)
    return cost_of(before, after, KINDS)


def test_a_relay_and_a_fuse_are_priced_by_the_stock_rows_of_their_first_words():
    found = taken(
        ("parts", {"id": "K1", "kind": "relay"}),
        ("parts", {"id": "F7", "kind": "fuse", "settings": "rating_a=15"}),
    )
    assert [(one.id, one.price) for one in found.bought] == [("K1", 4.8), ("F7", 0.35)]
    assert found.bought[1].item.startswith("fuse blade c, 15 A")


def test_a_row_with_all_the_words_goes_before_the_one_with_the_first():
    own = {"item": "fuse blade c, 15 A, blue", "price": "0.5"}
    found = taken(("parts", {"id": "F7", "kind": "fuse", "settings": "rating_a=15"}), stock=(*STOCK, own))
    assert [one.price for one in found.bought] == [0.5]


def test_a_part_without_a_price_is_named_and_not_counted_as_nothing():
    found = taken(("parts", {"id": "D1", "kind": "diode"}))
    assert found.bought == (Bought(id="D1", item="diode", price=None),)


def test_a_fuse_of_another_rating_is_bought():
    before = car(stock=STOCK)
    after = set_cell(before, "parts", "F1", "settings", "rating_a=7.5")
    assert [(one.id, one.price) for one in cost_of(before, after, KINDS).bought] == [("F1", 0.35)]


def test_a_moved_wire_takes_no_part_and_what_is_left_alone_costs_nothing():
    before = car(stock=STOCK)
    assert cost_of(before, before, KINDS) == Cost(wire_mm=0.0, copper_g=0.0, price=None, bought=())
    moved = set_cell(before, "wires", "W7", "length_mm", "2000")
    found = cost_of(before, moved, KINDS)
    assert found.bought == ()
    # 20 for 50 m, two metres of it
    assert found.price == pytest.approx(0.8)


def test_the_lines_say_the_price_or_that_none_is_known():
    mend = Mend(
        says="Fit a diode",
        edits=(),
        gone=(Finding(rule="KEY-2", severity="fault", at=("W1",), wrong="runs on"),),
        came=(),
        wire_mm=300.0,
        copper_g=4.0,
        price=None,
        bought=(Bought(id="D1", item="diode", price=None), Bought(id="K1", item="relay", price=4.8)),
        left=(),
    )
    assert cost_words(mend) == (
        "300 mm of wire, 4 g of copper: no price known",
        "D1, diode: no price known",
        "K1, relay: 4.80 by the stock",
    )
