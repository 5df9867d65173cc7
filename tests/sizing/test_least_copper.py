"""The least copper on shared ways: the same as by trying every combination, and never a way that loses too much."""

from __future__ import annotations

import random
from itertools import product

import pytest

from loomwright.sizing.least_copper import Question, _pruned, cheaper, least_copper

SIZES_MM2 = (0.5, 0.75, 1.0, 1.5, 2.5, 4.0)


def question(dice: random.Random, *, wires: int) -> Question:
    """Wires of some lengths, and ways over some of them with a little less to lose than they would like."""
    names = [f"W{number}" for number in range(wires)]
    length_m = {name: dice.choice((0.3, 0.5, 1.0, 2.0, 3.0)) for name in names}
    sizes = {name: SIZES_MM2[dice.randint(0, 2) :] for name in names}
    lines = []
    for _ in range(dice.randint(1, 4)):
        on = dice.sample(names, dice.randint(1, wires))
        amps = dice.choice((3.0, 5.0, 9.0))
        volts = {name: tuple(amps * 0.02 * length_m[name] / size for size in sizes[name]) for name in on}
        lines.append((volts, dice.uniform(0.03, 0.7)))
    grams = {name: tuple(8.89 * size * length_m[name] for size in sizes[name]) for name in names}
    return Question(sizes_mm2=sizes, grams=grams, lines=tuple(lines), held_mm2=frozenset({1.5}))


def by_trying(asked: Question) -> tuple[float, int] | None:
    """Grams of the best of all combinations, and how many sizes it brings."""
    names = list(asked.sizes_mm2)
    best: tuple[float, int] | None = None
    for at in product(*(range(len(asked.sizes_mm2[name])) for name in names)):
        choice = dict(zip(names, at, strict=True))
        if not asked.holds(choice):
            continue
        found = (round(asked.weight_g(choice), 6), asked.count(choice))
        best = found if best is None else min(best, found)
    return best


def test_it_is_the_best_of_all_combinations():
    told = {"none": 0, "same": 0}
    for seed in range(150):
        asked = question(random.Random(seed), wires=1 + seed % 5)
        best, answer = by_trying(asked), least_copper(asked)
        if best is None:
            told["none"] += 1
            assert answer is None
            continue
        told["same"] += 1
        assert answer is not None
        assert answer.proved
        assert asked.holds(answer.choice)
        assert (round(asked.weight_g(answer.choice), 6), asked.count(answer.choice)) == best
    assert told["same"] > 60
    assert told["none"] > 20


def test_a_shared_wire_is_thickened_once_where_that_is_less_copper():
    # S in 2.5 mm2 is 13.3 g more; both branches in 1.5 mm2 would be 17.8 g more
    volts = {"S": (0.2, 0.08), "A": (0.2, 0.13), "B": (0.2, 0.13)}
    asked = Question(
        sizes_mm2={"S": (1.0, 2.5), "A": (1.0, 1.5), "B": (1.0, 1.5)},
        grams={"S": (8.89, 22.2), "A": (17.8, 26.7), "B": (17.8, 26.7)},
        lines=(({"S": volts["S"], "A": volts["A"]}, 0.33), ({"S": volts["S"], "B": volts["B"]}, 0.33)),
    )
    answer = least_copper(asked)
    assert answer is not None
    assert dict(answer.choice) == {"S": 1, "A": 0, "B": 0}


def test_of_two_with_the_same_copper_the_one_with_fewer_sizes_is_taken():
    # either wire in 1.5 mm2 is 3 g more; B in 1.0 would bring a size that the loom does not have
    asked = Question(
        sizes_mm2={"A": (0.75, 1.5), "B": (1.0, 1.5)},
        grams={"A": (7.0, 10.0), "B": (9.0, 12.0)},
        lines=(({"A": (0.4, 0.2), "B": (0.4, 0.2)}, 0.6),),
        held_mm2=frozenset({0.75, 1.5}),
    )
    answer = least_copper(asked)
    assert answer is not None
    assert dict(answer.choice) == {"A": 0, "B": 1}
    assert asked.count(answer.choice) == 0


def test_wires_on_no_way_stay_at_their_thinnest():
    asked = Question(sizes_mm2={"A": (0.5, 1.0)}, grams={"A": (1.0, 2.0)}, lines=())
    answer = least_copper(asked)
    assert answer is not None
    assert dict(answer.choice) == {"A": 0}


@pytest.mark.parametrize("seed", range(8))
def test_all_choices_with_less_copper_are_named(seed):
    asked = question(random.Random(seed), wires=3)
    thick = {name: len(sizes) - 1 for name, sizes in asked.sizes_mm2.items()}
    groups, whole = cheaper(asked, thick, 4000)
    named = [choice for group in groups for choice in group]
    best = by_trying(asked)
    assert whole
    assert (named != []) == (best is not None and asked.holds(thick))
    for choice in named:
        lighter = {**thick, **choice}
        assert asked.holds(lighter)
        assert asked.weight_g(lighter) < asked.weight_g(thick)


def pruned_plainly(asked: Question, choice: dict[str, int]) -> dict[str, int]:
    """The same as `_pruned`, every move tried anew each time."""
    now = dict(choice)
    pairs = {(a, b) for wires, _ in asked.lines for a in wires for b in wires if a < b}
    while True:
        best: tuple[float, dict[str, int]] | None = None
        for move in [(wire,) for wire in now] + sorted(pairs):
            trial = {**now, **{wire: now[wire] - 1 for wire in move}}
            if min(trial.values()) >= 0 and asked.holds(trial):
                saved_g = sum(asked.grams[wire][now[wire]] - asked.grams[wire][trial[wire]] for wire in move)
                if best is None or saved_g > best[0]:
                    best = (saved_g, trial)
        if best is None:
            return now
        now = best[1]


def test_what_saves_most_is_made_thinner_first_however_it_is_looked_for():
    thinner = 0
    for seed in range(60):
        asked = question(random.Random(seed), wires=3 + seed % 6)
        thick = {name: len(sizes) - 1 for name, sizes in asked.sizes_mm2.items()}
        if asked.holds(thick):
            assert _pruned(asked, thick) == pruned_plainly(asked, thick)
            thinner += _pruned(asked, thick) != thick
    assert thinner > 20
