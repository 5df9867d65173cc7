"""The paper of the gear changes says what is kept with the job, whole, and what is a first set only."""

from __future__ import annotations

from dataclasses import replace

from loomwright.gearbox.box_reading import box_from_rows
from loomwright.gearbox.kept_lines import rows_of_lines
from loomwright.gearbox.lines import first_lines, programme_called
from loomwright.handover.number_sheet import number_sheet
from loomwright.job.edits import add_row
from loomwright.job.job import Job

PLAIN = [
    ("gear.ratios", "[2.8, 1.54, 1.0, 0.7]"),
    ("gear.final_drive", "3.45"),
    ("gear.tyre", "205/65R15"),
    ("gear.mass_kg", "1480"),
    ("gear.engine.limit_rpm", "6000"),
    ("gear.engine.litres", "2.8"),
    ("gear.programmes.normal.wish", "normal"),
    ("gear.programmes.sport.wish", "sport"),
]
BOX = box_from_rows(PLAIN)
assert BOX is not None
NORMAL = first_lines(BOX, programme_called(BOX, "normal"))
DRAWN = replace(NORMAL, up_kmh=((31.5, *NORMAL.up_kmh[0][1:]), *NORMAL.up_kmh[1:]), kick_frac=0.85)


def job(rows):
    made = Job()
    for name, value in rows:
        made = add_row(made, "vehicle", {"name": name, "value": value})
    return made


def test_lines_that_are_kept_are_those_that_are_printed():
    made = {one.programme: one for one in number_sheet(job([*PLAIN, *rows_of_lines(DRAWN)])).gears}
    assert made["normal"].lines[0][:2] == ("up 1-2", "31.5")
    assert (made["normal"].is_kept, made["sport"].is_kept) == (True, False)
    plain = {one.programme: one for one in number_sheet(job(PLAIN)).gears}
    assert plain["normal"].lines[0][1] != "31.5"
    assert plain["sport"].lines == made["sport"].lines


def test_lock_up_and_kick_down_stand_on_it_too():
    made = next(one for one in number_sheet(job([*PLAIN, *rows_of_lines(DRAWN)])).gears if one.programme == "normal")
    names = [row[0] for row in made.lines]
    locks = [gear for gear, line in enumerate(DRAWN.lock_kmh, start=1) if any(line)]
    assert [name for name in names if name.startswith("lock")] == [f"lock {gear}" for gear in locks]
    assert [name for name in names if name.startswith("kick")] == [f"kick {k + 1}-{k}, 85 %" for k in (1, 2, 3)]
    assert made.lines[-1][-1] == f"{DRAWN.kick_kmh[-1]:.1f}"
    assert all(len(row) == len(made.pedals) + 1 for row in made.lines)
