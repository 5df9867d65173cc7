"""A way for everything between two looms; too few ways name the smallest set that must go elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, permutations
from random import Random

import pytest

from loomwright.allocation.cavities import Cavities, arranged, with_ways_typed
from loomwright.allocation.cavity_ground import crossings_of, plugs_of
from loomwright.allocation.cavity_puzzle import beside, cavity_puzzle
from loomwright.allocation.other_ways import other_cavities
from loomwright.allocation.placing import place
from loomwright.allocation.way_fixing import cavity_fixed, cavity_let_go, kept_in_cavity
from loomwright.job.job import Job
from loomwright.job.rows import Circuit, Connector, Crimp, Part, Progress, Wire
from loomwright.refusals import OutOfReach
from tests.allocation.judging import broken_by, costs_of

CIRCUITS = (
    Circuit(id="feed", class_="supply", feed="30"),
    Circuit(id="sense", class_="sensor"),
    Circuit(id="lamp", class_="lighting", feed="15"),
)


def looms(
    held: Sequence[tuple[str, str]],
    *,
    ways: int = 4,
    layout: str = "1x4",
    family: str = "1.5 mm, sealed",
    more: str = "",
    second: int = 0,
    twists: dict[int, str] | None = None,
    sizes: dict[int, float] | None = None,
    built: Sequence[int] = (),
    crimps: tuple[Crimp, ...] = (),
) -> Job:
    """Two looms that meet in X1: held = number of the way, circuit; X2 beside it has `second` ways."""
    settings = {"ways": str(ways), "family": family} | ({"large_ways": more} if more else {})
    parts = [Part(id="X1", kind="inline_connector", place="bulkhead", settings=settings)]
    if second:
        other = {"ways": str(second), "family": family}
        parts.append(Part(id="X2", kind="inline_connector", place="bulkhead", settings=other))
    wires = []
    for number, circuit in held:
        twist, size = (twists or {}).get(int(number), ""), (sizes or {}).get(int(number), 0.75)
        wires.append(Wire(id=f"W{number}a", circuit=circuit, to=f"X1.{number}p", size_mm2=size, twist=twist))
        wires.append(Wire(id=f"W{number}b", circuit=circuit, from_=f"X1.{number}s", size_mm2=size, twist=twist))
    return Job(
        parts=tuple(parts),
        circuits=CIRCUITS,
        wires=tuple(wires),
        crimps=crimps,
        connectors=(Connector(id="C1", part="X1", layout=layout),),
        progress=tuple(Progress(wire=f"W{number}a", end="to", step="crimped") for number in built),
    )


def amps_of(job: Job, **known: float) -> dict[str, float]:
    """What flows: one amp, or what is named."""
    return {wire.id: 1.0 for wire in job.wires} | known


def ways_of(answer: Cavities) -> dict[str, str]:
    """Way as it stands -> the way it gets."""
    return {each.was: each.way for each in answer.seats}


def test_what_sits_well_stays_where_it_is() -> None:
    job = looms([("1", "feed"), ("3", "sense")])
    answer = arranged(job, amps_of(job))
    assert ways_of(answer) == {"X1.1": "X1.1", "X1.3": "X1.3"}
    assert answer.spares == {"X1": ("X1.2", "X1.4")}
    assert answer.proved
    assert with_ways_typed(answer) == job


def test_a_live_way_does_not_lie_beside_a_sensors_where_there_is_room() -> None:
    job = looms([("1", "feed"), ("2", "sense")])
    answer = arranged(job, amps_of(job))
    assert answer.beside == ()
    assert len(answer.moved) == 1, "one move is enough"
    moved = with_ways_typed(answer)
    assert {wire.to for wire in moved.wires if wire.to} == {f"{way}p" for way in ways_of(answer).values()}


def test_where_there_is_no_room_it_is_told_that_they_lie_side_by_side() -> None:
    job = looms([("1", "feed"), ("2", "sense"), ("3", "feed"), ("4", "sense")])
    answer = arranged(job, amps_of(job))
    assert len(answer.beside) == 1, "two and two in one row meet once"


def test_twisted_wires_lie_side_by_side() -> None:
    job = looms([("1", "sense"), ("6", "sense")], ways=6, layout="2x3", twists={1: "T", 6: "T"})
    ways = ways_of(arranged(job, amps_of(job)))
    assert ways["X1.6"] in beside(ways["X1.1"], plugs_of(job))
    assert sum(was != way for was, way in ways.items()) == 1


def test_a_way_is_too_small_for_what_flows_and_a_larger_one_is_kept_for_it() -> None:
    job = looms([("1", "lamp"), ("2", "lamp")], family="2.8 mm and 1.5 mm", more="1 4", sizes={2: 1.5})
    answer = arranged(job, amps_of(job, W2a=14.0))
    assert ways_of(answer)["X1.2"] in ("X1.1", "X1.4")
    assert ways_of(answer)["X1.1"] in ("X1.2", "X1.3"), "one amp has no use for the larger contact"
    assert "14 A, the contact 10 A" in next(each.says for each in answer.seats if each.was == "X1.2")


def test_a_wire_that_no_crimp_of_the_sheet_takes_fits_nowhere_and_it_is_said_why() -> None:
    crimps = (Crimp(terminal="plug 1.5 mm", seal="blue", size_from_mm2=0.35, size_to_mm2=0.5),)
    job = looms([("1", "lamp"), ("2", "lamp")], sizes={1: 0.5}, crimps=crimps)
    answer = arranged(job, amps_of(job))
    assert answer.status == "does not fit"
    assert answer.left_out == ("X1.2",)
    assert "no crimp of 1.5 mm takes it" in answer.conflicts[0].says
    assert next(each.crimp for each in answer.seats) == "plug 1.5 mm"


def test_a_sealed_plug_takes_no_crimp_without_a_seal() -> None:
    crimps = (Crimp(terminal="plug 1.5 mm", size_from_mm2=0.35, size_to_mm2=1.5),)
    sealed = looms([("1", "lamp")], crimps=crimps)
    dry = looms([("1", "lamp")], crimps=crimps, family="1.5 mm")
    assert [arranged(job, amps_of(job)).status for job in (sealed, dry)] == ["does not fit", "fits"]


def test_too_few_ways_name_the_smallest_set() -> None:
    job = looms([(str(k), "lamp") for k in range(1, 6)])
    answer = arranged(job, amps_of(job))
    assert answer.status == "does not fit"
    assert len(answer.left_out) == 1
    assert set(answer.conflicts[0].crossings) == {f"X1.{k}" for k in range(1, 6)}
    assert "second one at the same place" in answer.conflicts[0].says


def test_what_is_too_much_moves_to_the_plug_beside_it_and_no_more_than_must() -> None:
    job = looms([(str(k), "lamp") for k in range(1, 7)], second=4)
    answer = arranged(job, amps_of(job))
    assert answer.status == "fits"
    assert len(answer.moved_plug) == 2
    assert answer.goals["plug"] == (2, True), "proved"


def test_what_is_made_up_moves_last() -> None:
    held = [("1", "feed"), ("2", "sense"), ("4", "sense")]
    for built, moves in (((1, 4), "X1.2"), ((2, 4), "X1.1")):
        job = looms(held, ways=6, layout="1x6", built=built)
        assert [each.was for each in arranged(job, amps_of(job)).moved] == [moves]


def test_a_connector_nobody_has_is_refused_with_those_there_are() -> None:
    with pytest.raises(OutOfReach, match="X1 C1"):
        arranged(looms([("1", "feed")]), {}, "X9")


def test_a_current_nobody_knows_is_told_and_not_judged() -> None:
    answer = arranged(looms([("1", "feed")]), {})
    assert any("X1.1 is not known" in note for note in answer.notes)


@pytest.mark.parametrize("seed", range(4))
def test_the_answer_is_the_best_of_every_arrangement_there_is(seed: int) -> None:
    dice = Random(seed)
    names = dice.sample(range(1, 6), 3)
    twists = {names[0]: "T", names[1]: "T"} if seed % 2 else {}
    job = looms(
        [(str(k), dice.choice(("feed", "sense", "lamp"))) for k in names],
        ways=4,
        layout=dice.choice(("1x4", "2x2")),
        built=[k for k in names if dice.random() < 0.4],
        second=dice.choice((0, 1)),
        twists=twists,
    )
    plugs = plugs_of(job)
    puzzle = cavity_puzzle(crossings_of(job, amps_of(job), plugs), plugs, ())
    answer = place(puzzle)
    assert answer is not None
    assert broken_by(puzzle, answer.chosen, answer.placed) == ()
    best = None
    units = [unit for unit in puzzle.units if not unit.name.startswith("gap ")]
    gaps = [unit.name for unit in puzzle.units if unit.name.startswith("gap ")]
    slots = [way.name for plug in plugs.values() for way in plug.ways]
    for count in range(len(units) + 1):
        for built in combinations(units, count):
            items = [item for unit in built for item in unit.alternatives[0].items]
            for seats in permutations(slots, len(items)):
                placed = dict(zip(items, seats, strict=True))
                if any(slot not in puzzle.seats[item] for item, slot in placed.items()):
                    continue
                chosen = {unit.name: "" for unit in built} | dict.fromkeys(gaps, "kept")
                for gap in gaps:
                    limit = next(one for one in puzzle.limits if (gap, gap) in one.takes)
                    if sum(limit.takes.get(seat, 0) for seat in placed.items()) > limit.most:
                        chosen[gap] = "given up"
                whole = placed | {gap: gap for gap in gaps if chosen[gap] == "given up"}
                if not broken_by(puzzle, chosen, whole):
                    costs = costs_of(puzzle, chosen, whole)
                    best = costs if best is None else min(best, costs)
    assert answer.costs == best


def test_a_way_that_is_kept_is_not_given_away_and_every_other_is_told_with_its_cost() -> None:
    job = looms([("1", "feed"), ("2", "sense")])
    for number, other in (("1", "2"), ("2", "1")):
        kept = cavity_fixed(job, f"X1.{number}", f"X1.{number}")
        answer = arranged(kept, amps_of(kept))
        ways = ways_of(answer)
        assert ways[f"X1.{number}"] == f"X1.{number}"
        assert ways[f"X1.{other}"] != f"X1.{other}", "so it is the other that moves"
        told = {one.name: one for one in other_cavities(kept, amps_of(kept), answer, f"X1.{other}")}
        assert "is kept for what sits in it" in told[f"X1.{number}"].says
        assert not told[f"X1.{number}"].is_possible
        assert kept_in_cavity(kept, f"X1.{number}")
        assert cavity_let_go(kept, f"X1.{number}").parts == job.parts


def test_a_crossing_led_to_a_taken_way_changes_places_with_what_is_there() -> None:
    job = looms([("1", "feed"), ("2", "lamp")])
    ends = {wire.id: wire.to or wire.from_ for wire in cavity_fixed(job, "X1.1", "X1.2").wires}
    assert ends == {"W1a": "X1.2p", "W1b": "X1.2s", "W2a": "X1.1p", "W2b": "X1.1s"}


def test_what_another_way_would_cost_is_what_the_whole_answer_would() -> None:
    job = looms([("1", "feed"), ("4", "sense"), ("3", "lamp")], family="2.8 mm and 1.5 mm", more="2")
    answer = arranged(job, amps_of(job, W3a=1.0))
    told = {one.name: one.says for one in other_cavities(job, amps_of(job), answer, answer.seats[0].was)}
    larger = next(says for name, says in told.items() if name == "X1.2")
    assert "larger way" in larger or "sensor" in larger
