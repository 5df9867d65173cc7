"""Kinds that a job makes for itself, from the rows of its sheet."""

from __future__ import annotations

import pytest

from loomwright.refusals import OutOfReach, TableFault
from loomwright.tables.kinds import elements_of, kind_from_rows, kinds_from_rows, resolve_settings


def row(element: str = "", type_of: str = "", terminals: str = "", settings: str = "") -> dict[str, str]:
    """One row of the sheet."""
    return {"kind": "seat_warmer", "element": element, "type": type_of, "terminals": terminals, "settings": settings}


WARMER = (
    row(type_of="load", settings="title=seat warmer; case=body"),
    row(type_of="required", terminals="+"),
    row(type_of="plus", terminals="+"),
    row(settings="mat_ohm=2.5 ohm; fuse_a=; cover=cloth"),
    row(type_of="positions", terminals="off low high"),
    row("mat", "resistor", "+ _m", "ohm=$mat_ohm; rated_a=4800 mA"),
    row("knob", "switch", "_m _case", "closed_at=low high; rating_a=10"),
)


def test_rows_make_a_kind() -> None:
    kind = kind_from_rows(WARMER)
    assert (kind.id, kind.title, kind.duty, kind.case) == ("seat_warmer", "seat warmer", "load", "body")
    assert [(terminal.name, terminal.required, terminal.polarity) for terminal in kind.terminals] == [("+", True, 1)]
    assert kind.positions == ("off", "low", "high")


def test_its_elements_have_figures() -> None:
    kind = kind_from_rows(WARMER)
    mat, knob = elements_of(kind, resolve_settings(kind, {"mat_ohm": "3"}))
    assert (mat.params["ohm"], mat.params["rated_a"]) == (3.0, pytest.approx(4.8))
    assert knob.params["closed_at"] == ("low", "high")


def test_a_declared_figure_without_a_value_is_unknown() -> None:
    kind = kind_from_rows(WARMER)
    values = resolve_settings(kind, {})
    assert values["mat_ohm"] == 2.5
    assert "fuse_a" not in values
    assert values["cover"] == "cloth"
    assert resolve_settings(kind, {"fuse_a": "7.5"})["fuse_a"] == 7.5


def test_a_load_that_does_not_say_is_for_what_draws() -> None:
    assert [element.name for element in kind_from_rows(WARMER).elements if element.load] == ["mat"]
    motor = row("fan", "motor", "+ -", "running_a=2; stall_a=8")
    assert [element.load for element in kind_from_rows((*WARMER, motor)).elements] == [False, False, True]
    said = row("mat", "resistor", "+ -", "ohm=2; load=yes")
    assert [element.load for element in kind_from_rows((said, motor)).elements] == [True, False]


@pytest.mark.parametrize(
    ("text", "ohm"), [("grip_ohm=0.5", 0.5), ("grip_ohm=4k7", 4700.0), ("grip=1.2 kohm", 1200.0), ("grip=12", 12.0)]
)
def test_a_declared_default_is_read_with_its_unit(text: str, ohm: float) -> None:
    name = text.partition("=")[0]
    kind = kind_from_rows([row(settings=text), row("r", "resistor", "1 2", f"ohm=${name}")])
    assert elements_of(kind, resolve_settings(kind, {}))[0].params["ohm"] == ohm


def test_two_kinds_are_kept_apart() -> None:
    other = {**row("r", "resistor", "1 2", "ohm=1"), "kind": "other"}
    assert list(kinds_from_rows((*WARMER, other))) == ["seat_warmer", "other"]


@pytest.mark.parametrize(
    "rows",
    [
        [],
        [row("r", "spring", "1 2", "ohm=1")],
        [row("r", "resistor", "1 2", "ohm")],
        [row("r", "resistor", "1 2", "ohm=1; ohm=2")],
        [row("r", "resistor", "1 2", "ohm=$missing")],
        [row(type_of="heavy", terminals="1")],
        [row("r", "resistor", "1 _case", "ohm=1")],
    ],
)
def test_rows_that_make_no_kind_are_refused(rows: list[dict[str, str]]) -> None:
    with pytest.raises(TableFault):
        kind_from_rows(rows)


def test_a_figure_in_the_wrong_unit_is_refused() -> None:
    with pytest.raises(OutOfReach):
        kind_from_rows([row("r", "resistor", "1 2", "ohm=3 V")])
