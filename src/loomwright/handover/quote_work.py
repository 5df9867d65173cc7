"""What is there to do, counted from the sheets?

In: the job with what was decided filled in, and its routes. Out: how often each operation of `work_minutes.csv` comes.
Everything is counted from rows: nothing is guessed from how large a car is. What is done already counts too, since a
quote is for the whole job. Lengths that nobody typed or decided are those of the routes.

    part one   the vehicle taken in; old parts and wires out; old wires named; kept wires, parts and switches proved
    part two   circuits planned, pins given; wires cut, crimped, seated, laid, covered; parts mounted; all of it proved;
               first start, set up, handed over
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from loomwright.handover.quote_records import StageWork, WorkLine
from loomwright.job.job import Job
from loomwright.job.rows import Part, Wire
from loomwright.job.rows_survey import STAGES
from loomwright.job.shop_terms import ShopTerms
from loomwright.routes.records import Routes
from loomwright.routes.run_map import HUNDREDTHS, run_map
from loomwright.tables.kinds import Kind
from loomwright.tables.work_minutes import OPERATIONS, Minutes

__all__ = ["counts_of", "pins_of", "with_routed_lengths", "work_of"]

_MILLI = 1000.0
_STAGES = tuple(STAGES.split("|"))
_NOT_MOUNTED = ("join", "protection", "boundary")
"""Duties of kinds that are made, pushed in or there already; earths are counted apart."""
_RELAYS = "relays"
_LOOM = "loom"


def with_routed_lengths(job: Job, routes: Routes) -> Job:
    """The job with the lengths of its routes in cells that are still blank."""
    wires = tuple(
        replace(wire, length_mm=routes.wires[wire.id].length_mm)
        if wire.length_mm is None and wire.id in routes.wires
        else wire
        for wire in job.wires
    )
    return replace(job, wires=wires)


def work_of(
    job: Job, kinds: Mapping[str, Kind], routes: Routes, terms: ShopTerms, wished: Iterable[tuple[str, Minutes]] = ()
) -> tuple[StageWork, ...]:
    """The work of a job by stage, in the order of the stages.

    Args:
        terms: minutes the shop has set stand before the typical ones.
        wished: stage and minutes of wishes that no other sheet holds.
    """
    counts = counts_of(job, kinds, routes)
    lines = [
        WorkLine(
            operation=one.key,
            words=one.words,
            stage=one.stage,
            per=one.per,
            count=counts[one.key],
            each=terms.minutes.get(one.key, one.minutes),
            set_by="shop" if one.key in terms.minutes else "typical",
        )
        for one in OPERATIONS.values()
        if counts[one.key]
    ]
    lines += [
        WorkLine(
            operation="wished",
            words="what wishes name of their own",
            stage=stage if stage in _STAGES else _LOOM,
            per="wish",
            count=1.0,
            each=minutes,
            set_by="wish",
        )
        for stage, minutes in wished
    ]
    by_stage = ((stage, tuple(line for line in lines if line.stage == stage)) for stage in _STAGES)
    return tuple(StageWork(stage=stage, lines=found) for stage, found in by_stage if found)


def counts_of(job: Job, kinds: Mapping[str, Kind], routes: Routes) -> Mapping[str, float]:
    """How often each operation comes in a job; nought where it does not.

    Args:
        job: with what was decided filled in.
        routes: which runs its wires follow, for the metres of loom to cover.
    """
    new = [wire for wire in job.wires if wire.fitted == "new"]
    kept = [wire for wire in job.wires if wire.fitted == "kept"]
    fitted = [part for part in job.parts if part.fitted in ("new", "donor")]
    duty = {part.id: kinds[part.kind].duty if part.kind in kinds else "" for part in job.parts}
    group = {part.id: kinds[part.kind].group if part.kind in kinds else "" for part in job.parts}
    earths = [part for part in fitted if part.kind == "earth_point"]
    relays = [part for part in fitted if group[part.id] == _RELAYS]
    fuses = [part for part in fitted if duty[part.id] == "protection"]
    counted: dict[str, float] = {
        "vehicle_taken_in": 1,
        "part_taken_off": sum(part.fitted == "removed" for part in job.parts),
        "wire_taken_out": sum(wire.fitted == "removed" for wire in job.wires),
        "old_wire_named": len(job.old_wires),
        "kept_wire_proved": len(kept),
        "kept_part_tried": sum(part.fitted == "kept" and _is_tried(part, duty[part.id]) for part in job.parts),
        "position_tested": sum(row.verified is not True for row in job.contacts),
        "old_wire_cut_back": sum(row.fate == "cut back" for row in job.old_wires),
        "circuit_planned": len({wire.circuit for wire in new if wire.circuit}),
        "pin_given": len(pins_of(job, kinds)),
        "wire_cut": sum(not wire.cable for wire in new),
        "cable_prepared": len({wire.cable for wire in new if wire.cable}),
        "end_crimped": sum(_is_crimped(end, duty) for wire in new for end in (wire.from_, wire.to)),
        "end_seated": _seated(job, new),
        "splice_made": sum(part.kind == "splice" for part in fitted),
        "group_twisted": len({wire.twist for wire in new if wire.twist and not wire.cable}),
        "wire_laid": sum(wire.length_mm or 0.0 for wire in new) / _MILLI,
        "loom_covered": _covered_m(job, new, routes),
        "old_wire_joined": sum(row.fate == "adapt" for row in job.old_wires),
        "part_mounted": sum(_is_mounted(part, duty[part.id], group[part.id]) for part in fitted),
        "earth_made": len(earths),
        "way_fitted": len(fuses) + len(relays),
        "wire_proved": len(new) + len(kept),
        "fuse_proved": len(fuses),
        "output_tried": len({row.output for row in job.drives if row.output}),
        "requirement_tried": len(job.requirements),
        "sensor_set": sum(duty[part.id] == "sensor" for part in fitted),
        "gearbox_set": int(any(row.class_ == "gearbox" for row in job.circuits)),
        "snag_mended": sum(row.status != "done" for row in job.snags),
        "vehicle_handed_over": 1,
    }
    has_controller = any(duty[part.id] == "controller" for part in fitted)
    counted |= {"engine_started": int(has_controller), "engine_set_up": int(has_controller)}
    return {name: float(counted[name]) for name in OPERATIONS}


def pins_of(job: Job, kinds: Mapping[str, Kind]) -> frozenset[str]:
    """Pins of controllers that something is wired to, or that a need asks for."""
    controllers = {
        part.id
        for part in job.parts
        if part.fitted != "removed" and part.kind in kinds and kinds[part.kind].duty == "controller"
    }
    ends = {end for wire in job.wires if wire.fitted != "removed" for end in (wire.from_, wire.to) if end}
    wired = {end for end in ends if end.startswith("~") or end.partition(".")[0] in controllers}
    alone = {f"~{row.id}" for row in job.needs if not row.pin and row.part and f"~{row.id}" not in wired}
    return frozenset(wired | alone)


def _is_tried(part: Part, duty: str) -> bool:
    return part.kind != "earth_point" and duty not in _NOT_MOUNTED


def _is_mounted(part: Part, duty: str, group: str) -> bool:
    return part.kind != "earth_point" and duty not in _NOT_MOUNTED and group != _RELAYS


def _is_crimped(end: str, duty: Mapping[str, str]) -> bool:
    """Whether a terminal is crimped to an end: a free end has none, in a splice it is part of the splice."""
    return bool(end) and duty.get(end.partition(".")[0], "") != "join"


def _seated(job: Job, new: Iterable[Wire]) -> int:
    """Ends that go into a cavity of a connector."""
    plugged = {row.part for row in job.connectors}
    return sum(end.partition(".")[0] in plugged for wire in new for end in (wire.from_, wire.to) if end)


def _covered_m(job: Job, new: Iterable[Wire], routes: Routes) -> float:
    """Metres of loom: every run that a new wire follows, once. [m]"""
    mine = {run for wire in new if wire.id in routes.wires for run in routes.wires[wire.id].runs}
    stretches = run_map(job).stretches
    return sum(stretches[run].hundredths for run in sorted(mine) if run in stretches) / HUNDREDTHS / _MILLI
