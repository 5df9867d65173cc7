"""Which answer is the best of all, goal by goal, and is that proved?

The puzzle is told to a solver for whole numbers (CP-SAT): one yes-or-no for each item and class of like slots, one for
each alternative, one for each unit left out. For each goal in order its sum is made least, and what was reached is then
kept as a row while the next is looked at; that is what *in order* means. A goal is proved when the solver shows that no
answer has less. It runs alone (one worker, fixed seed), so the same puzzle gives the same answer. Where there are more
than some thousand seats the same rows go to a solver that bounds and branches (`branching`), for sums of millimetres
over hundreds of pins are what CP-SAT does not prove in minutes. Where no unit may be left out it is asked all the same:
what changes cost is a sum of few, and of five ways out over 2 466 seats it proves each in half a second, the other in
up to fifty.

`tell` is called while it works and may raise `Stopped`: the best found until then is given, marked as not proved.

Source: CP-SAT of OR-tools; relaxed as linear as it can be (level 2) and without probing beforehand, which is what
proves such puzzles fast: of five ways out where three pins are short, probing alone took two fifths of the time.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from threading import Thread
from typing import Any

from loomwright.allocation.alike import in_order_of_names, like_slots, like_units
from loomwright.allocation.branching import least_of, rows_of
from loomwright.allocation.engine import Choice, Goal, Puzzle
from loomwright.findings import id_order
from loomwright.refusals import Stopped

__all__ = ["Barred", "Placed", "fits", "place"]

Tell = Callable[[int, int], None]

Barred = tuple[tuple[frozenset[Choice], int], ...]
"""What must not be chosen again: for each group of choices how many were made; no answer may make so many of all."""

_LOOK_S = 0.05
_MANY = 1500
"""Seats from which on bounding and branching is the faster: 80 needs on 90 pins have some hundreds. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """An answer. chosen: unit -> alternative.   placed: item -> slot.   left_out: units that are not built.

    costs: by each goal, in order. [-]   proved: whether no answer costs less, goal by goal.
    """

    chosen: Mapping[str, str]
    placed: Mapping[str, str]
    left_out: tuple[str, ...]
    costs: tuple[int, ...]
    proved: tuple[bool, ...]


def place(
    puzzle: Puzzle, tell: Tell | None = None, *, barred: Sequence[Barred] = (), whole: bool = False
) -> Placed | None:
    """The best answer, goal by goal; None where there is none.

    Args:
        tell: called with goals done and to do, often; may raise Stopped.
        barred: choices that must not all be made again.
        whole: no unit may be left out.
    Raises:
        Stopped: before anything was found.
    """
    asked = _Asked.of(puzzle, barred, whole=whole)
    costs: list[int] = []
    proved: list[bool] = []
    best: dict[int, int] | None = None
    for number, goal in enumerate(puzzle.goals):
        terms = asked.terms(goal)
        if best is not None and _sum_of(terms, best) == sum(min(weight, 0) for _, weight in terms):
            costs.append(_sum_of(terms, best))  # less than every one at its least cannot be
            proved.append(True)
            asked.keep(terms, costs[-1])
            continue
        look = None if tell is None else partial(tell, number, len(puzzle.goals))
        answer = asked.least(terms, best, look)
        best = answer.values if answer.values is not None else best
        if best is None:
            if answer.stopped is not None:
                raise answer.stopped
            return None
        costs.append(_sum_of(terms, best))
        proved.append(answer.proved)
        if answer.stopped is not None:
            rest = puzzle.goals[number + 1 :]
            costs += [_sum_of(asked.terms(goal), best) for goal in rest]
            proved += [False] * len(rest)
            break
        asked.keep(terms, costs[-1])
    return None if best is None else asked.answer(best, tuple(costs), tuple(proved))


def fits(puzzle: Puzzle) -> bool:
    """Whether everything can be built."""
    # without what anything costs, more slots and more items are alike
    asked = _Asked.of(replace(puzzle, goals=()), (), whole=True)
    return asked.least((), None, None).values is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    values: dict[int, int] | None
    proved: bool
    stopped: Stopped | None


@dataclass(slots=True, kw_only=True)
class _Asked:
    """The puzzle as the solver has it. Variables are known by their number."""

    puzzle: Puzzle
    model: Any
    classes: tuple[tuple[str, ...], ...]
    seats: dict[tuple[str, int], Any]
    choices: dict[Choice, Any]
    left: dict[str, Any]
    alike: dict[str, tuple[str, ...]]
    is_large: bool = False

    @classmethod
    def of(cls, puzzle: Puzzle, barred: Sequence[Barred], *, whole: bool) -> _Asked:
        # here, since loading it takes most of a second and most questions have no use for it
        from ortools.sat.python import cp_model

        model = cp_model.CpModel()
        classes = like_slots(puzzle)
        made = cls(puzzle=puzzle, model=model, classes=classes, seats={}, choices={}, left={}, alike={})
        barred_units = {name for groups in barred for choices, _ in groups for name, _ in choices}
        for names in like_units(puzzle, classes):
            apart = [(name,) for name in names] if barred_units.intersection(names) else [names]
            made.alike |= {each[0]: each for each in apart}
        made._units(whole=whole)
        made._rooms()
        made._limits()
        made._sides()
        for link in puzzle.links:
            model.add(made.choices[link.one] == made.choices[link.other])
        for groups in barred:
            made._bar(groups)
        made.is_large = len(made.seats) > _MANY and not whole
        return made

    def _units(self, *, whole: bool) -> None:
        """One count a class of like units; a class of one is a yes or no."""
        model, class_of = self.model, self._class_of()
        for unit in self.puzzle.units:
            if unit.name not in self.alike:
                continue
            most = len(self.alike[unit.name])
            left = self.left[unit.name] = model.new_int_var(0, 0 if whole else most, "")
            for one in unit.alternatives:
                chosen = self.choices[unit.name, one.name] = model.new_int_var(0, most, "")
                for item in one.items:
                    taken = []
                    for number in sorted({class_of[slot] for slot in self.puzzle.seats[item]}):
                        self.seats[item, number] = model.new_int_var(0, min(most, self._room(number)), "")
                        taken.append(self.seats[item, number])
                    model.add(sum(taken) == chosen)
            model.add(left + sum(self.choices[unit.name, one.name] for one in unit.alternatives) == most)

    def _rooms(self) -> None:
        class_of = self._class_of()
        filling: dict[int, list[Any]] = {}
        for (item, number), variable in self.seats.items():
            for slot in self.puzzle.seats[item][self.classes[number][0]]:
                filling.setdefault(class_of[slot], []).append(variable)
        for number, variables in filling.items():
            self.model.add(sum(variables) <= self._room(number))

    def _room(self, number: int) -> int:
        return sum(self.puzzle.rooms.get(slot, 1) for slot in self.classes[number])

    def _limits(self) -> None:
        class_of = self._class_of()
        for limit in self.puzzle.limits:
            rows = {
                (item, class_of[slot]): taken
                for (item, slot), taken in limit.takes.items()
                if taken and (item, class_of.get(slot, -1)) in self.seats
            }
            if rows:
                self.model.add(sum(taken * self.seats[key] for key, taken in rows.items()) <= limit.most)

    def _sides(self) -> None:
        for side in self.puzzle.together:
            first, second = (self._by_side(item, side.of) for item in side.items)
            absent = [1 - sum(self._of(item)) for item in side.items]
            for name in dict.fromkeys((*first, *second)):
                if not name:  # a slot on no side is together with nothing
                    self.model.add(sum(first.get("", ())) <= absent[1])
                    self.model.add(sum(second.get("", ())) <= absent[0])
                else:
                    self.model.add(sum(first.get(name, ())) <= sum(second.get(name, ())) + absent[1])
                    self.model.add(sum(second.get(name, ())) <= sum(first.get(name, ())) + absent[0])
        for side in self.puzzle.apart:
            first, second = (self._by_side(item, side.of) for item in side.items)
            for name in sorted(set(first) & set(second) - {""}):
                self.model.add(sum(first[name]) + sum(second[name]) <= 1)
        class_of = self._class_of()
        for pair in self.puzzle.pairs:
            one, other = pair.items
            for slot in self.puzzle.seats[one]:
                there = [self.seats.get((other, class_of.get(each, -1))) for each in pair.partner.get(slot, ())]
                seconds = [variable for variable in there if variable is not None]
                self.model.add(self.seats[one, class_of[slot]] <= sum(seconds))

    def _bar(self, groups: Barred) -> None:
        fewer = []
        for choices, count in groups:
            less = self.model.new_bool_var("less")
            made = sum(self.choices[choice] for choice in sorted(choices))
            self.model.add(made <= count - 1).only_enforce_if(less)
            fewer.append(less)
        self.model.add_bool_or(fewer)

    def _class_of(self) -> dict[str, int]:
        return {slot: number for number, slots in enumerate(self.classes) for slot in slots}

    def _of(self, item: str) -> list[Any]:
        numbers = sorted({number for each, number in self.seats if each == item})
        return [self.seats[item, number] for number in numbers]

    def _by_side(self, item: str, side_of: Mapping[str, str]) -> dict[str, list[Any]]:
        found: dict[str, list[Any]] = {}
        for number, slots in enumerate(self.classes):
            if (item, number) in self.seats:
                found.setdefault(side_of.get(slots[0], ""), []).append(self.seats[item, number])
        return found

    def terms(self, goal: Goal) -> tuple[tuple[int, int], ...]:
        """A goal's sum: number of a variable, what it counts."""
        found: dict[int, int] = {}
        for (item, number), variable in self.seats.items():
            slot = self.classes[number][0]
            weight = goal.seats.get((item, slot), 0)
            weight += sum(goal.slots.get(each, 0) for each in self.puzzle.seats[item][slot]) if goal.slots else 0
            if weight:
                found[variable.index] = weight
        for choice, weight in goal.choices.items():
            if weight and choice in self.choices:
                found[self.choices[choice].index] = weight
        for unit, weight in goal.left_out.items():
            if weight and unit in self.left:
                found[self.left[unit].index] = weight
        return tuple(sorted(found.items()))

    def _sum(self, terms: Iterable[tuple[int, int]]) -> Any:
        return sum(weight * self.model.get_int_var_from_proto_index(index) for index, weight in terms)

    def keep(self, terms: Sequence[tuple[int, int]], most: int) -> None:
        """Holds a goal at what it has reached."""
        if terms:
            self.model.add(self._sum(terms) <= most)

    def least(
        self, terms: Sequence[tuple[int, int]], best: Mapping[int, int] | None, look: Callable[[], None] | None
    ) -> _Found:
        """Makes one sum least."""
        if terms and self.is_large:
            found = self._bounded(terms, best or {}, look)
            if found.values is not None or found.stopped is not None:
                return found
        from ortools.sat.python import cp_model

        if terms:
            self.model.minimize(self._sum(terms))
        self.model.clear_hints()
        for index, value in (best or {}).items():
            self.model.add_hint(self.model.get_int_var_from_proto_index(index), value)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.linearization_level = 2
        solver.parameters.cp_model_probing_level = 0
        solver.parameters.random_seed = 0
        solver.parameters.catch_sigint_signal = False  # it would not give Ctrl+C back to Python
        status, stopped = _run(lambda: solver.solve(self.model), solver.stop_search, look)
        known = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
        variables = (*self.seats.values(), *self.choices.values(), *self.left.values())
        values = {one.index: int(solver.value(one)) for one in variables} if known else None
        return _Found(values=values, proved=status == cp_model.OPTIMAL, stopped=stopped)

    def _bounded(
        self, terms: Sequence[tuple[int, int]], best: Mapping[int, int], look: Callable[[], None] | None
    ) -> _Found:
        """The same by bounding and branching."""
        stops: list[Stopped | None] = []

        def run(work: Callable[[], Any], stop: Callable[[], Any]) -> Any:
            found, stopped = _run(work, stop, look)
            stops.append(stopped)
            return found

        found = least_of(rows_of(self.model.proto), tuple(terms), best, run)
        variables = (*self.seats.values(), *self.choices.values(), *self.left.values())
        values = None if found.values is None else {one.index: found.values[one.index] for one in variables}
        return _Found(values=values, proved=found.proved, stopped=stops[0])

    def answer(self, values: Mapping[int, int], costs: tuple[int, ...], proved: tuple[bool, ...]) -> Placed:
        """The answer by names."""
        taken: dict[int, list[str]] = {}
        chosen: dict[str, str] = {}
        left: list[str] = []
        items_of = {unit.name: unit.alternatives[0].items for unit in self.puzzle.units}
        for unit, names in self.alike.items():
            built = len(names) - values[self.left[unit].index]
            left += names[built:]
            if len(names) == 1:
                ways = [name for each, name in self.choices if each == unit]
                for name in ways:
                    if values[self.choices[unit, name].index]:
                        chosen[unit] = name
                continue
            chosen |= {name: next(way for each, way in self.choices if each == unit) for name in names[:built]}
            free = [items_of[name][0] for name in names[:built]]
            for number in sorted(number for item, number in self.seats if item == items_of[unit][0]):
                count = values[self.seats[items_of[unit][0], number].index]
                taken.setdefault(number, []).extend(free[:count])
                free = free[count:]
        single = {item for unit in self.puzzle.units if len(self.alike.get(unit.name, ())) == 1
                  for one in unit.alternatives for item in one.items}  # fmt: skip
        for (item, number), variable in self.seats.items():
            if item in single and values[variable.index]:
                taken.setdefault(number, []).append(item)
        placed: dict[str, str] = {}
        for number, items in taken.items():
            free = [slot for slot in self.classes[number] for _ in range(self.puzzle.rooms.get(slot, 1))]
            placed |= dict(zip(sorted(items, key=id_order), free, strict=False))
        placed = in_order_of_names(self.puzzle, placed)
        return Placed(
            chosen={unit.name: chosen[unit.name] for unit in self.puzzle.units if unit.name in chosen},
            placed={item: placed[item] for item in sorted(placed, key=id_order)},
            left_out=tuple(unit.name for unit in self.puzzle.units if unit.name in set(left)),
            costs=costs,
            proved=proved,
        )


def _sum_of(terms: Iterable[tuple[int, int]], values: Mapping[int, int]) -> int:
    return sum(weight * values[index] for index, weight in terms)


def _run(
    solve: Callable[[], Any], stop: Callable[[], Any], look: Callable[[], None] | None
) -> tuple[Any, Stopped | None]:
    """Solves; beside a second thread where somebody wants to be told, so that a stop is heard at once."""
    if look is None:
        return solve(), None
    try:
        look()
    except Stopped as stopped_early:
        return None, stopped_early
    found: list[Any] = []
    work = Thread(target=lambda: found.append(solve()), daemon=True)
    stopped: Stopped | None = None
    work.start()
    while work.is_alive():
        work.join(_LOOK_S)
        if stopped is None:
            try:
                look()
            except Stopped as heard:
                stopped = heard
        if stopped is not None:
            stop()
    return found[0], stopped
