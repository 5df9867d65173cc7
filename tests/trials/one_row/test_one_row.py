"""Random one-row changes to the mended van are named in the first three findings; harmless ones raise no fault.

The normal run judges half a dozen, fixed, on the two halves of the van; the long run all 300 on the whole
van, in two processes, and prints what was missed.
"""

from __future__ import annotations

from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

import pytest

from loomwright.findings import Finding
from tests.trials.one_row.changes import SHARES, Change
from tests.trials.one_row.judging import COUNT, SEED, Verdict, changes_of, judged, sound_van
from tests.trials.one_row.naming import named_at, names_of_change

BAR = 0.95
HALF_DOZEN = {"engine": (0, 3, 4), "body": (5, 29, 35)}
"""Places in the draw for each half; misses that were mended are among them."""
HALF = 150


def test_the_draw_is_the_same_each_time_and_no_change_comes_twice():
    first = changes_of("body", HALF, SEED)
    assert len({change.says for change in first}) == HALF
    changes_of.cache_clear()
    again = changes_of("body", HALF, SEED)
    assert [change.says for change in again] == [change.says for change in first]
    assert {change.kind for change in first} == set(SHARES)


@pytest.mark.parametrize("half", sorted(HALF_DOZEN))
def test_each_half_of_the_van_is_sound(half: str):
    assert sound_van(half).faults == ()


@pytest.mark.parametrize(("half", "place"), [(half, place) for half, places in HALF_DOZEN.items() for place in places])
def test_a_change_of_the_half_dozen_is_named_or_alters_nothing_and_is_quiet(half: str, place: int):
    verdict = judged(changes_of(half, HALF, SEED)[place], sound_van(half))
    assert verdict.word in ("named", "quiet"), verdict


def test_both_words_stand_for_something_in_the_half_dozen():
    words = {judged(changes_of("body", HALF, SEED)[place], sound_van("body")).word for place in (5, 35)}
    assert words == {"named", "quiet"}


def _change() -> Change:
    return Change(kind="drop", says="drop W1", rows=("W1",), points=("F1.2", "ECU.A5"), sheets={})


def _finding(*at: str, **more: tuple[str, ...]) -> Finding:
    return Finding(rule="NET-1", severity="fault", at=at, wrong="is open", **more)


@pytest.mark.parametrize(
    ("finding", "counts"),
    [
        (_finding("W1"), True),
        (_finding("F1.1"), True),
        (_finding("ECU.A5"), True),
        (_finding("LA1"), True),
        (_finding("W9", path=("W1", "W9")), True),
        (_finding("ECU.A6"), False),
        (_finding("ECU"), False),
        (_finding("W9", touches=("W1", "F1")), False),
        (_finding("W9", path=("F1", "W9")), False),
    ],
)
def test_what_names_a_change_and_what_only_mentions_it(finding: Finding, counts: bool):
    change = _change()
    names = names_of_change(change, fuses=(), killed=("LA1",))
    assert bool(named_at([finding], (), names, change.rows)) is counts


def test_the_fourth_finding_does_not_count_nor_one_that_the_sound_car_has_too():
    change = _change()
    names = names_of_change(change, (), ())
    others = [_finding(f"W{k}") for k in range(2, 5)]
    assert named_at([*others[:2], _finding("W1")], (), names, change.rows) == 3
    assert named_at([*others, _finding("W1")], (), names, change.rows) == 0
    assert named_at([_finding("W1")], {("NET-1", ("W1",))}, names, change.rows) == 0


def _verdict(place: int) -> Verdict:
    return judged(changes_of("whole", COUNT, SEED)[place], sound_van("whole"))


@pytest.mark.long
def test_of_300_changes_those_that_alter_anything_are_named_and_the_others_raise_no_fault(
    capsys: pytest.CaptureFixture[str],
):
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        verdicts = list(pool.map(_verdict, range(COUNT), chunksize=10))
    words = Counter(verdict.word for verdict in verdicts)
    with capsys.disabled():
        for verdict in verdicts:
            if verdict.word in ("missed", "loud"):
                print(
                    f"\n{verdict.word}: {verdict.change}\n  alters {verdict.alters[:4]}\n  first {verdict.first}",
                    end="",
                )
        print(f"\nseed {SEED}: {dict(words)}")
    assert words["named"] >= BAR * (words["named"] + words["missed"])
    assert words["loud"] == 0
