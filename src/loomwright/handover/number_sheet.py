"""Which numbers does the engine start with, and where does the gearbox change: on one page each?

In: the engine's starting numbers, where enough is known of it, and the gearbox of the sheet `vehicle`, where there is
one. Out: the numbers as they are printed, the tables by name and size, the change-up and change-down lines by
programme. The tables themselves stand in the papers of the first start, which are taken to the car.
"""

from __future__ import annotations

from collections.abc import Iterable

from loomwright.calibration.starting import StartNumbers
from loomwright.gearbox.box_reading import box_from_rows
from loomwright.gearbox.lines import first_lines
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
    """The change lines of a job's gearbox, one summary a programme; none where no gearbox is written down."""
    box = box_from_rows((row.name, row.value) for row in job.vehicle)
    if box is None:
        return
    for programme in box.programmes:
        lines = first_lines(box, programme)
        named = [(f"up {k}-{k + 1}", speeds) for k, speeds in enumerate(lines.up_kmh, start=1)]
        named += [(f"down {k + 1}-{k}", speeds) for k, speeds in enumerate(lines.down_kmh, start=1)]
        yield GearSummary(
            programme=programme.name,
            pedals=tuple(f"{_PERCENT * pedal:g} %" for pedal in lines.pedal_frac),
            lines=tuple((name, *(f"{speed:.1f}" for speed in speeds)) for name, speeds in named),
        )
