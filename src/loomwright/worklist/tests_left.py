"""Which test of the loom is made next, and between what should its reading lie?

In: the test plan, in the order it is made. Out: a thing for each test. A stage is closed until every test of those
before it has been made, or is written down as not possible with the reason: that is what keeps power off a wire that
nobody has tried for a short.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from loomwright.job.job import Job
from loomwright.job.vehicle import vehicle_of
from loomwright.proving.plan import STAGES, PlannedTest, TestPlan, held_off, stage_title, stood_of
from loomwright.proving.taking import TOLD, most_meant
from loomwright.worklist.thing import Asks, Thing

__all__ = ["things_to_prove"]

_MEASURES: Mapping[str, str] = {
    "volts": "Meter on volts",
    "ohms": "Meter on ohms",
    "amps": "Clamp on amps",
    "lamp": "Test lamp",
    "hand": "By hand",
    "look": "Look",
}
_POST = "battery’s earthed post"


def things_to_prove(job: Job, plan: TestPlan) -> tuple[Thing, ...]:
    """Every test of a plan, in its order.

    Args:
        job: with what was read so far.
        plan: of the job.
    """
    stages = {word: nth for nth, (word, _) in enumerate(STAGES)}
    names = {place.id: place.name or place.id for place in job.places}
    colours = {wire.id: wire.colour for wire in job.wires}
    system_v = vehicle_of(job).system_v
    stood = stood_of(plan.tests, job.proofs)
    held = {stage: held_off(stood, stage) for stage, _ in STAGES}
    things = (
        _thing(one.test, stages[one.test.stage], names, colours, system_v, is_done=bool(one.rows)) for one in stood
    )
    return tuple(
        replace(thing, cautions=(*held[one.test.stage], *thing.cautions))
        for one, thing in zip(stood, things, strict=True)
    )


def _thing(
    test: PlannedTest,
    stage: int,
    names: Mapping[str, str],
    colours: Mapping[str, str],
    system_v: float,
    *,
    is_done: bool,
) -> Thing:
    wire = _in_hand(test)
    cells = {"test": test.id, "point": test.point, "to": test.to, "when": test.when, "unit": test.unit}
    is_word = test.measure in TOLD
    words = TOLD[test.measure] if is_word else ("open",) if test.unit == "ohm" else ()
    facts = (("state", test.when), ("for it", test.put), ("wires", " ".join(test.wires)))
    return Thing(
        id=f"prove/{test.id}",
        work="prove",
        group=stage_title(test.stage),
        does=f"{_MEASURES.get(test.measure, test.measure)}: {test.does}",
        sheet="proofs",
        cells={name: text for name, text in cells.items() if text},
        stage=stage,
        wire=wire,
        colour=colours.get(wire, ""),
        here=test.point,
        there=test.to or (_POST if test.measure == "volts" else ""),
        place=names.get(test.place, test.place),
        facts=tuple(pair for pair in facts if pair[1]),
        cautions=test.caution,
        asks=Asks(
            kind="words" if is_word else "figure",
            unit=test.unit,
            low=test.low,
            high=test.high,
            most=None if is_word else most_meant(test.unit, system_v),
            words=words,
            word=test.word,
            says=test.says,
            waivable=True,
            measure=test.measure,
        ),
        again="Read it again, then look at the fault finder at the desk.",
        is_done=is_done,
    )


def _in_hand(test: PlannedTest) -> str:
    """The wire whose colours help to find the place; none where the test is of a whole plug or of a load."""
    is_of_one = len(test.wires) == 1 or test.measure not in (*TOLD, "amps")
    return test.wires[0] if test.wires and is_of_one else ""
