"""Which numbers does the engine start with, and where does the gearbox change: on one page each?

In: the engine's starting numbers, where enough is known of it, and the gearbox of the sheet `vehicle`, where there is
one. Out: the numbers as they are printed, the tables by name and size, the change-up and change-down lines by
programme. The tables themselves stand in the papers of the first start, which are taken to the car.
"""

from __future__ import annotations

from collections.abc import Iterable

from loomwright.calibration.starting import StartNumbers
from loomwright.gearbox.box_reading import box_from_rows
from loomwright.gearbox.line_record import named_lines
from loomwright.gearbox.lines import lines_of
from loomwright.handover.pack_records import NO_NUMBERS, GearSummary, NumberSheet
from loomwright.handover.start_sheet import sheet_numbers
from loomwright.job.job import Job

__all__ = ["NO_NUMBERS", "GearSummary", "NumberSheet", "gear_summaries", "number_sheet"]

_PERCENT = 100.0


def number_sheet(job: Job, numbers: StartNumbers | None = None) -> NumberSheet:
    """The paper of the numbers.

    Args:
        job: whose gearbox it is.
        numbers: the engine's; None where too little is known of it.
    """
    gears = tuple(gear_summaries(job))
    if numbers is None:
        return NumberSheet(gears=gears)
    return NumberSheet(
        numbers=sheet_numbers(numbers),
        tables=tuple(
            (one.name.replace("_", " "), one.says, f"{len(one.rows)} x {max(len(one.columns) - 1, 1)}")
            for one in numbers.tables
        ),
        asks=numbers.asks,
        warns=numbers.warns,
        gears=gears,
    )


def gear_summaries(job: Job) -> Iterable[GearSummary]:
    """The lines of a job's gearbox, one summary a programme; none where no gearbox is written down.

    Those that somebody keeps with the job, else a first set; a gear without lock-up has no row of it, and a kick-down
    has its pedal in its name and its speed under the whole pedal.
    """
    box = box_from_rows((row.name, row.value) for row in job.vehicle)
    if box is None:
        return
    for programme in box.programmes:
        lines = lines_of(box, programme)
        named = [(one.name, one.speeds_kmh) for one in named_lines(lines) if any(one.speeds_kmh)]
        blank = ("",) * (len(lines.pedal_frac) - 1)
        kicks = [
            (f"kick {k + 1}-{k}, {_PERCENT * lines.kick_frac:g} %", *blank, f"{speed:.1f}")
            for k, speed in enumerate(lines.kick_kmh, start=1)
        ]
        yield GearSummary(
            programme=programme.name,
            pedals=tuple(f"{_PERCENT * pedal:g} %" for pedal in lines.pedal_frac),
            lines=(*((name, *(f"{speed:.1f}" for speed in speeds)) for name, speeds in named), *kicks),
            is_kept=programme.name in box.kept,
        )
