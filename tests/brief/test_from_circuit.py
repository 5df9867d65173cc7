"""A circuit that exists makes a recipe: read back it is the same, and added elsewhere it makes a like circuit."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from loomwright.brief.adding import added
from loomwright.brief.brief import briefed
from loomwright.brief.from_circuit import recipe_as_text, recipe_of_circuit
from loomwright.brief.recipe import Recipe, recipes_from_text
from loomwright.car import Car
from loomwright.findings import says
from loomwright.job.job import Job
from loomwright.refusals import BadDocument, OutOfReach
from loomwright.store.own_recipes import keep_recipe, known_recipes, own_recipes
from loomwright.trials.accepting import accepting

SMALL = {"cylinders": "1", "gearbox": "shifted by hand"}


@pytest.fixture(scope="module")
def car() -> Job:
    """A small car with a fan."""
    return briefed(SMALL).job


def again(recipe: Recipe) -> Recipe:
    """The recipe as it is read from its text."""
    (read,) = recipes_from_text("own.toml", recipe_as_text(recipe))
    return replace(read, chapter=recipe.chapter)


def test_a_recipe_made_of_a_circuit_is_read_back_as_it_is(car: Job) -> None:
    for row in car.circuits:
        try:
            recipe = recipe_of_circuit(car, row.id, f"own_{row.id}")
        except OutOfReach:
            continue
        assert again(recipe) == recipe


def test_the_fan_of_one_car_is_the_fan_of_the_next(car: Job) -> None:
    recipe = again(recipe_of_circuit(car, "fan1", "our_fan", "fan as we fit it"))
    assert recipe.title == "fan as we fit it"
    second = added(car, recipe)
    was = Counter(part.kind for part in car.parts if part.circuit == "fan1")
    new = {part.id for part in second.job.parts} - {part.id for part in car.parts}
    assert Counter(part.kind for part in second.job.parts if part.id in new) == was
    assert second.pins == sum(need.part in {p.id for p in car.parts if p.circuit == "fan1"} for need in car.needs)
    made = [wire for wire in second.job.wires if wire.id in second.wires]
    assert len(made) == sum(wire.circuit == "fan1" for wire in car.wires)
    assert all(wire.size_mm2 is None and wire.length_mm is None for wire in made), "decided with the rest of the car"
    olds = {part.id for part in car.parts if part.circuit == "fan1"}
    assert not {end.partition(".")[0] for wire in made for end in (wire.from_, wire.to)} & olds
    drives = [drive for drive in second.job.drives if drive not in car.drives]
    assert [drive.when for drive in drives] == [drive.when for drive in car.drives if drive.output == "FAN1_relay"]


def test_what_its_car_has_and_this_one_has_not_is_asked_by_name(car: Job) -> None:
    recipe = recipe_of_circuit(car, "fan1", "our_fan")
    bare = replace(car, places=tuple(row for row in car.places if row.id != "radiator"))
    with pytest.raises(BadDocument) as caught:
        added(bare, recipe)
    assert "at_radiator" in {problem.column for problem in caught.value.problems}


def test_no_recipe_is_made_of_nothing_or_by_no_name(car: Job) -> None:
    with pytest.raises(OutOfReach, match="small letters"):
        recipe_of_circuit(car, "fan1", "Our Fan")
    with pytest.raises(OutOfReach):
        recipe_of_circuit(car, "no_such", "our_fan")


def test_a_shop_keeps_its_recipes_and_never_two_of_one_name(car: Job, tmp_path) -> None:
    assert own_recipes(tmp_path / "new") == ()
    for circuit in ("fan1", "fuel_pump" if any(c.id == "fuel_pump" for c in car.circuits) else "inject1"):
        keep_recipe(tmp_path, recipe_of_circuit(car, circuit, f"our_{circuit}"))
    assert len(own_recipes(tmp_path)) == 2
    assert {"our_fan1", "fan_on_relay"} <= set(known_recipes(tmp_path))
    for name in ("our_fan1", "fan_on_relay"):
        with pytest.raises(OutOfReach, match="no recipe has yet"):
            keep_recipe(tmp_path, recipe_of_circuit(car, "fan1", name))
    assert [path.name for path in tmp_path.iterdir()] == ["recipes.toml"]


@pytest.mark.long
@pytest.mark.parametrize("circuit", ["fan1", "inject1", "coolant", "oil_lamp"])
def test_a_recipe_of_a_sound_circuit_brings_no_new_fault(car: Job, circuit: str) -> None:
    made = added(car, again(recipe_of_circuit(car, circuit, "our_own")))
    before = Car(car).worked_out().check().findings
    verdict = accepting(before, Car(made.job).worked_out().check().findings)
    assert verdict.holds, [says(finding) for finding in verdict.new]
