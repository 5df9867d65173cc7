"""An answer stands as long as no cell it was worked out from has changed, and what is kept is bounded."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from loomwright.job import kept_answers
from loomwright.job.cell_set import Cells
from loomwright.job.cells_read import Ledger, all_looked_at, looked_at, noted
from loomwright.job.job import Job
from loomwright.job.kept_answers import Answering, KeptAnswers
from loomwright.job.rows import Circuit, Wire

JOB = Job(wires=(Wire(id="W1", colour="RD", circuit="C"), Wire(id="W2")), circuits=(Circuit(id="C", name="Work"),))


def colours(kept: KeptAnswers, job: Job, made: list[str], beside: tuple[object, ...] = ()) -> tuple[str, ...]:
    """The colours of a job, noting in `made` when they are worked out."""
    answering = Answering({"typed": job}, kept)

    def make() -> tuple[str, ...]:
        made.append("worked out")
        return tuple(wire.colour for wire in answering.job("typed").wires)

    return answering.of("colours", beside, make)


def test_an_answer_stands_where_another_cell_has_changed() -> None:
    kept, made = KeptAnswers(), []
    colours(kept, JOB, made)
    renamed = replace(JOB, wires=(replace(JOB.wires[0], notes="long"), JOB.wires[1]), circuits=())
    assert colours(kept, renamed, made) == ("RD", "")
    assert made == ["worked out"]


@pytest.mark.parametrize(
    "wires",
    [
        (replace(JOB.wires[0], colour="BU"), JOB.wires[1]),
        (JOB.wires[0],),
        (JOB.wires[1], JOB.wires[0]),
    ],
    ids=["another colour", "a row less", "another order"],
)
def test_an_answer_falls_with_a_cell_it_read(wires: tuple[Wire, ...]) -> None:
    kept, made = KeptAnswers(), []
    colours(kept, JOB, made)
    assert colours(kept, replace(JOB, wires=wires), made) == tuple(wire.colour for wire in wires)
    assert made == ["worked out"] * 2


def test_an_answer_falls_where_something_else_was_put_beside_it() -> None:
    kept, made = KeptAnswers(), []
    colours(kept, JOB, made, (object(),))
    colours(kept, JOB, made, (object(),))
    assert made == ["worked out"] * 2


def test_one_job_that_stands_for_two_is_compared_as_both() -> None:
    kept = KeptAnswers()
    new = replace(JOB, wires=(replace(JOB.wires[0], colour="BU"), JOB.wires[1]))

    def first_colour(job: Job, which: str) -> str:
        answering = Answering({"typed": job, "filled": job}, kept)
        return answering.of(f"first of {which}", (), lambda: answering.job(which).wires[0].colour)

    assert [first_colour(JOB, which) for which in ("typed", "filled")] == ["RD", "RD"]
    assert [first_colour(new, which) for which in ("typed", "filled")] == ["BU", "BU"]


def test_of_several_things_only_those_that_are_new_are_worked_out() -> None:
    kept, made = KeptAnswers(), []
    one, two, three = object(), object(), object()

    def ask(job: Job, items: list[object]) -> list[str]:
        answering = Answering({"typed": job}, kept)

        def make(places: Sequence[int]) -> list[str]:
            made.append([items[place] for place in places])
            return [f"{answering.job('typed').wires[0].colour} {[one, two, three].index(items[k])}" for k in places]

        return answering.of_each("several", (), items, make)

    renamed = replace(JOB, wires=(replace(JOB.wires[0], notes="long"), JOB.wires[1]))
    assert ask(JOB, [one, two]) == ["RD 0", "RD 1"]
    assert ask(renamed, [two, three]) == ["RD 1", "RD 2"]
    assert made == [[one, two], [three]]
    blue = replace(JOB, wires=(replace(JOB.wires[0], colour="BU"), JOB.wires[1]))
    assert ask(blue, [three, two]) == ["BU 2", "BU 1"]
    assert made[2:] == [[three, two]]


def test_an_answer_rests_on_the_answers_it_was_made_from() -> None:
    kept, made = KeptAnswers(), []

    def count(job: Job) -> int:
        answering = Answering({"typed": job}, kept)
        return answering.of("count", (), lambda: len("".join(colours_of(answering))))

    def colours_of(answering: Answering) -> tuple[str, ...]:
        return answering.of("colours", (), lambda: tuple(one.colour for one in answering.job("typed").wires))

    colours(kept, JOB, made)
    assert count(JOB) == len("RD")
    assert count(replace(JOB, wires=(replace(JOB.wires[0], colour="RD/BU"), JOB.wires[1]))) == len("RD/BU")


def test_a_question_that_looks_at_an_old_row_too_late_is_found_out() -> None:
    kept = KeptAnswers()
    first = Answering({"typed": JOB}, kept)
    first.of("rows", (), lambda: first.job("typed").wires)
    new = Answering({"typed": replace(JOB, wires=(replace(JOB.wires[0], colour="BU"), JOB.wires[1]))}, kept)
    with new.at_work() as late:
        rows = new.of("rows", (), lambda: new.job("typed").wires)
        assert rows[0].id == "W1"
        assert not new.is_stale(late)
        assert rows[0].colour == "RD"
    assert new.is_stale(late)


def test_names_that_are_not_asked_for_go() -> None:
    kept = KeptAnswers()
    answering = Answering({"typed": JOB}, kept)
    for number in range(kept_answers._NAMES_MOST + 5):
        answering.of(f"answer {number}", (), lambda number=number: number)
    assert kept.newest("answer 0") is None
    assert kept.newest(f"answer {kept_answers._NAMES_MOST}") == kept_answers._NAMES_MOST


def test_of_many_names_the_one_longest_unasked_goes_first() -> None:
    kept = KeptAnswers()
    answering = Answering({"typed": Job()}, kept)
    for number in range(kept_answers._NAMES_MOST):
        answering.of(f"answer {number}", (), lambda number=number: number)
    assert answering.of("answer 0", (), lambda: -1) == 0, "asked once more, and kept since"
    answering.of("one more", (), lambda: 0)
    assert kept.newest("answer 0") == 0
    assert kept.newest("answer 1") is None


def test_rows_of_a_car_that_nothing_was_taken_from_are_not_believed() -> None:
    kept = KeptAnswers()
    before = Answering({"typed": Job(wires=(Wire(id="W1", colour="RD"),))}, kept)
    before.of("colours", (), lambda: [wire.colour for wire in before.job("typed").wires])
    after = Answering({"typed": Job(wires=(Wire(id="W1", colour="RD", notes="old"),))}, kept)
    assert after.is_stale({0: Cells()}), "nothing of the first car is taken over yet"
    assert after.of("colours", (), lambda: ["worked out again"]) == ["RD"]
    assert not after.is_stale({0: Cells([("typed", "wires", 0, "colour")])})
    assert after.is_stale({0: Cells([("typed", "wires", 0, "notes")])}), "the note has changed since"


def test_a_cell_is_noted_on_every_page_it_is_read_on() -> None:
    ledger = Ledger()
    job = noted(JOB, "typed", ledger, 1)
    with ledger.noting() as first:
        assert job.wires[0].colour == job.wires[0].colour == "RD"
    with ledger.noting() as second:
        assert job.wires[0].colour == "RD"
    assert first == second == Cells([("typed", "wires", -1, ""), ("typed", "wires", 0, "colour")])


def test_what_is_read_apart_is_noted_again_around_it() -> None:
    ledger, own = Ledger(), Cells()
    job = noted(JOB, "typed", ledger, 1)
    with ledger.noting() as around:
        with ledger.apart(own):
            assert job.wires[0].colour == "RD"
        assert ("typed", "wires", 0, "colour") in set(own) - set(around)
        assert job.wires[0].colour == "RD"
        assert ("typed", "wires", 0, "colour") in around


def test_what_another_thread_reads_is_noted_here_all_the_same() -> None:
    ledger = Ledger()
    job = noted(JOB, "typed", ledger, 1)
    with ledger.noting() as cells:
        wire = job.wires[0]
        with ThreadPoolExecutor(1) as beside:
            assert beside.submit(lambda: wire.colour).result() == "RD"
        assert ("typed", "wires", 0, "colour") not in cells
        assert wire.colour == "RD"
        assert ("typed", "wires", 0, "colour") in cells


def test_a_row_that_is_looked_at_as_a_whole_is_noted_in_the_fields_that_are_named() -> None:
    ledger = Ledger()
    job = noted(JOB, "typed", ledger, 1)
    with ledger.noting() as cells:
        assert looked_at(job.wires[1], ("id", "colour")) is JOB.wires[1]
    assert cells == Cells([("typed", "wires", -1, ""), ("typed", "wires", 1, "id"), ("typed", "wires", 1, "colour")])
    assert looked_at(JOB.wires[1], ("id",)) is JOB.wires[1]


def test_rows_that_are_looked_at_together_are_noted_in_the_fields_that_are_named() -> None:
    ledger = Ledger()
    job = noted(JOB, "typed", ledger, 1)
    with ledger.noting() as cells:
        plain = all_looked_at((job.wires[1], JOB.wires[0]), ("id", "colour"))
        assert [one is other for one, other in zip(plain, (JOB.wires[1], JOB.wires[0]), strict=True)] == [True, True]
        assert plain[0].notes == JOB.wires[1].notes
    assert cells == Cells([("typed", "wires", -1, ""), ("typed", "wires", 1, "id"), ("typed", "wires", 1, "colour")])
    with ledger.noting() as cells:
        assert [wire.id for wire in all_looked_at(job.wires, ("id",))] == ["W1", "W2"]
    assert cells == Cells([("typed", "wires", row, name) for row, name in ((-1, ""), (0, "id"), (1, "id"))])


def test_what_all_answers_rest_on_is_a_part_of_each_though_it_is_noted_once() -> None:
    kept = KeptAnswers()

    def colour(job: Job) -> str:
        answering = Answering({"typed": job}, kept)
        wires = answering.for_all(lambda: {wire.id: wire for wire in answering.job("typed").wires if wire.colour})
        return answering.of("colour", (), lambda: wires["W1"].colour)

    assert colour(JOB) == "RD"
    assert colour(replace(JOB, wires=(replace(JOB.wires[0], colour="BU"), JOB.wires[1]))) == "BU"


def test_cells_are_those_put_in_and_which_rows_there_are_is_one_of_them() -> None:
    put_in = {("typed", "wires", -1, ""), ("typed", "wires", 0, "id"), ("taken", "wires", 63, "id")}
    cells = Cells(put_in)
    assert set(cells) == put_in
    assert not cells.isdisjoint(Cells([("typed", "wires", -1, "")]))
    assert cells.isdisjoint(Cells([("typed", "wires", 63, "id"), ("taken", "parts", 63, "id")]))
