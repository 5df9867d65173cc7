"""Lines that are kept are read back as they were; what does not fit the gearbox any more is refused with its mend."""

from __future__ import annotations

import tomllib
from dataclasses import replace

import pytest

from loomwright.gearbox.box import Box
from loomwright.gearbox.box_reading import box_from_rows, shipped_box
from loomwright.gearbox.kept_lines import rows_of_lines
from loomwright.gearbox.line_sheet import lines_to_csv
from loomwright.gearbox.lines import first_lines, lines_of, programme_called, resampled
from loomwright.gearbox.procedure import newest_of, set_up_steps, step_cells
from loomwright.job.rows import Gate
from loomwright.refusals import BadDocument, OutOfReach

BOX = shipped_box()
NORMAL = first_lines(BOX, programme_called(BOX, "normal"))
PLAIN = [
    ("gear.ratios", "[2.8, 1.54, 1.0, 0.7]"),
    ("gear.final_drive", "3.45"),
    ("gear.tyre", "205/65R15"),
    ("gear.mass_kg", "1480"),
    ("gear.engine.limit_rpm", "6000"),
    ("gear.engine.litres", "2.8"),
]


def box_with(rows: list[tuple[str, str]]) -> Box:
    box = box_from_rows([*PLAIN, *rows])
    assert box is not None
    return box


def refused(rows: list[tuple[str, str]]) -> str:
    with pytest.raises(BadDocument) as told:
        box_with(rows)
    assert all(one.mend for one in told.value.problems)
    return " ".join(one.says for one in told.value.problems)


def test_kept_lines_stand_for_the_first_set_and_are_read_back_to_a_tenth() -> None:
    drawn = replace(NORMAL, up_kmh=((31.5, *NORMAL.up_kmh[0][1:]), *NORMAL.up_kmh[1:]))
    box = box_with(list(rows_of_lines(drawn)))
    again = lines_of(box, programme_called(box, "normal"))
    assert again.up_kmh[0][0] == 31.5
    assert lines_to_csv(box, again) == lines_to_csv(box, drawn)
    assert rows_of_lines(again) == rows_of_lines(drawn)


def test_other_breakpoints_are_kept_too() -> None:
    box = box_with(list(rows_of_lines(resampled(NORMAL, (0.0, 0.3, 1.0)))))
    assert lines_of(box, programme_called(box, "normal")).pedal_frac == (0.0, 0.3, 1.0)


def test_every_value_is_one_that_a_file_may_hold() -> None:
    for name, value in rows_of_lines(NORMAL):
        assert name.startswith("gear.lines.normal.")
        tomllib.loads(f"value = {value}")


def test_kept_lines_without_a_first_change_are_refused() -> None:
    rows = [row for row in rows_of_lines(NORMAL) if not row[0].endswith("up 1-2")]
    assert "lines.normal.up 1-2" in refused(rows)


def test_kept_lines_of_another_gearbox_or_programme_are_refused() -> None:
    rows = list(rows_of_lines(NORMAL))
    assert "up 4-5" in refused([*rows, ("gear.lines.normal.up 4-5", "[1, 2, 3]")])
    assert "a programme: normal" in refused([(name.replace("normal", "racing"), value) for name, value in rows])
    short = [(name, "[1, 2]" if name.endswith("down 2-1") else value) for name, value in rows]
    assert "2 speeds" in refused(short)
    falling = [(name, "[0, 60, 40, 100]" if name.endswith(".pedal") else value) for name, value in rows]
    assert "rising, from 0 to 100" in refused(falling)


def test_the_newest_row_of_a_step_counts_and_what_keeps_people_safe_is_never_waived() -> None:
    steps = set_up_steps(BOX)
    stall = next(one for one in steps if one.title == "Stall test")
    cells = step_cells(steps, stall.number, "waived", reason="the maker forbids it")
    rows = [Gate(gate=cells["gate"], stage="gearbox", verdict=verdict) for verdict in ("failed", "waived")]
    assert newest_of(steps, rows)[stall.number].verdict == "waived"
    with pytest.raises(OutOfReach, match="a reason"):
        step_cells(steps, stall.number, "waived")
    selector = next(one for one in steps if one.title == "Selector adjustment")
    with pytest.raises(OutOfReach, match="hurt somebody"):
        step_cells(steps, selector.number, "waived", reason="late")
    assert step_cells(steps, selector.number, "passed", "code 0110 in P")["reason"] == "code 0110 in P"
    pressed = step_cells(steps, 6, "failed", "410", "gauge hose kinked")
    assert (pressed["value"], pressed["reason"]) == ("410", "gauge hose kinked")


def test_no_step_takes_a_gear_before_its_caution_and_brakes_are_proved_before_full_pedal() -> None:
    """Chocks, a driver seated, nobody in front: common practice, no source."""
    steps = set_up_steps(BOX)
    titles = [one.title for one in steps]
    assert [one.number for one in steps] == list(range(1, len(steps) + 1))
    for title in ("Fluid, first fill", "First engagement", "Line pressure"):
        caution = steps[titles.index(title)].caution.lower()
        assert "chocks at all wheels" in caution
        assert "driver seated" in caution
        assert "nobody in front" in caution
    assert titles.index("Brakes before rolling") < titles.index("Stall test") < titles.index("Adaptation drive")
