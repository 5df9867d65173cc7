"""Which recipe does a circuit make that exists already, so that a shop can add it to its next car?

In: a job and one of its circuits. Out: a recipe as any other. Its rows are those of the circuit: its own row, parts,
wires, what the controller must do for its parts and when. Asked are the names of its parts and of the circuit, where
they sit, and every point outside that its wires lead to: an earth point, or a busbar, splice, fuse or other point to
take current from. What is decided for each car anew is left blank: sizes, lengths, routes, ratings, pins; what was
done to the wires of this one is left out.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from loomwright.brief.recipe import Ask, Recipe, RecipeRow
from loomwright.job.edits import find_row
from loomwright.job.job import Job
from loomwright.job.points import split_point
from loomwright.job.rows import Row
from loomwright.job.writing import text_of_row
from loomwright.refusals import OutOfReach

__all__ = ["OWN_CHAPTER", "recipe_as_text", "recipe_of_circuit"]

OWN_CHAPTER = "the shop's own"
"""Where recipes of a shop stand in the list."""

_METALS = ("body", "engine", "gearbox", "axle")
_STUDS = ("busbar", "splice", "fuse")
_KEPT: Mapping[str, tuple[str, ...]] = {
    "circuits": ("name", "class", "feed", "road_safety"),
    "parts": ("kind", "name", "role"),
    "wires": ("colour", "twist"),
    "needs": ("does", "terminal", "ability", "rank", "active", "pwm_hz", "load_a"),
    "drives": ("when", "duty_frac", "for_s"),
}
"""Sheet -> columns taken over as they are."""


def recipe_of_circuit(job: Job, circuit: str, name: str, title: str = "") -> Recipe:
    """The recipe that makes a circuit like one of a job.

    Args:
        name: what the recipe is called: small letters, figures and _.
        title: in words; the circuit's name where left out.
    Raises:
        OutOfReach: no such circuit, one without a part or wire, or no name for a recipe.
    """
    row = job.circuits[find_row(job, "circuits", circuit)]
    if not name.isascii() or not name.replace("_", "").isalnum() or name != name.lower() or name[0].isdigit():
        raise OutOfReach("name of a recipe", name, "small letters, figures and _, such as work_lamp")
    made = _Made(job=job, circuit=circuit)
    parts = [part for part in job.parts if part.circuit == circuit and part.fitted != "removed"]
    wires = [wire for wire in job.wires if wire.circuit == circuit and wire.fitted != "removed"]
    if not parts or not wires:
        raise OutOfReach("circuit", circuit, "one that has parts and wires of its own to make a recipe of")
    for part in parts:
        made.named[part.id] = made.ask(part.id, f"what {part.name or part.id} is called", "new part", part.id)
    made.named_circuit = made.ask("circuit", "short name of the circuit", "new circuit", circuit)
    rows = [_row("circuits", row, {"id": made.named_circuit})]
    for part in parts:
        kept = {k: v for k, v in part.settings.items() if k not in ("rating_a", "kept_ways", "kept_wires")}
        cells = {
            "id": made.named[part.id],
            "place": made.place(part.place) if part.place else "",
            "circuit": made.named_circuit,
            "settings": "; ".join(f"{k}={v}" for k, v in sorted(kept.items())),
        }
        rows.append(_row("parts", part, cells))
    for wire in wires:
        ends = {"from": made.point(wire.from_), "to": made.point(wire.to)}
        rows.append(_row("wires", wire, {"circuit": made.named_circuit, **ends}))
    rows += made.asked_for()
    told = title or row.name or circuit
    parts_told = ", ".join(dict.fromkeys(part.name or part.kind for part in parts))
    return Recipe(
        id=name,
        chapter=OWN_CHAPTER,
        title=told,
        gives=f"{parts_told}, {len(wires)} wires, as in a car that was built",
        cautions=(),
        asks=tuple(made.asks.values()),
        rows=tuple(rows),
    )


def recipe_as_text(recipe: Recipe) -> str:
    """A recipe as it stands in a file of recipes (.toml)."""
    lines = [f"[{recipe.id}]", f"title = {_quoted(recipe.title)}", f"gives = {_quoted(recipe.gives)}"]
    if recipe.cautions:
        lines.append(f"cautions = [{', '.join(_quoted(one) for one in recipe.cautions)}]")
    lines.append("asks = [")
    for ask in recipe.asks:
        cells = {"name": ask.name, "says": ask.says, "takes": ask.takes, "usual": ask.usual}
        lines.append(f"    {_table(cells)},")
    lines += ["]", "rows = ["]
    lines += [f"    {_table({'sheet': row.sheet, **row.cells})}," for row in recipe.rows]
    return "\n".join([*lines, "]", ""])


@dataclass(slots=True, kw_only=True)
class _Made:
    """What is asked so far. named: id of a part -> how its name stands in a row."""

    job: Job
    circuit: str
    asks: dict[str, Ask] = field(default_factory=dict)
    named: dict[str, str] = field(default_factory=dict)
    named_circuit: str = ""

    def ask(self, word: str, says: str, takes: str, usual: str) -> str:
        """Asks one thing more; gives how its answer stands in a row."""
        name = "".join(letter if letter.isalnum() else "_" for letter in word.lower() if letter.isascii()) or "part"
        while name in self.asks:
            name += "_"
        self.asks[name] = Ask(name=name, says=says, takes=takes, usual=usual)
        return f"{{{name}}}"

    def place(self, place: str) -> str:
        """A place, asked once."""
        said = next((row.name for row in self.job.places if row.id == place), "") or place
        return self._once(f"at {place}", f"where that sits which was at: {said}", "place", place)

    def point(self, point: str) -> str:
        """An end of a wire: a part of the circuit's own, a metal, or a point outside that is asked."""
        part, terminal = split_point(point)
        if not point or part in self.named:
            return point.replace(part, self.named.get(part, ""), 1) if point else ""
        kind = next((row.kind for row in self.job.parts if row.id == part), "")
        if part in _METALS:
            return point
        if kind in ("controller",):
            return ""  # its pin is decided with those of the whole car
        if kind == "earth_point":
            return f"{self._once(part, f'earth point, {part} in the car it is from', 'earth', part)}.{terminal or 1}"
        usual = part if kind in _STUDS else point
        return self.ask(part, f"point its current comes from or goes to, {point} in that car", "feed", usual)

    def asked_for(self) -> Iterator[RecipeRow]:
        """What the controller must do for the circuit's parts, and when."""
        for need in self.job.needs:
            if need.part not in self.named:
                continue
            part = self.named[need.part]
            name = need.id.replace(need.part, part) if need.part in need.id else f"{part}_{need.id}"
            yield _row("needs", need, {"id": name, "part": part})
            for drive in self.job.drives:
                if drive.output == need.id:
                    yield _row("drives", drive, {"output": name})

    def _once(self, word: str, says: str, takes: str, usual: str) -> str:
        for name, ask in self.asks.items():
            if ask.takes == takes and ask.usual == usual:
                return f"{{{name}}}"
        return self.ask(word, says, takes, usual)


def _row(sheet: str, row: Row, cells: Mapping[str, str]) -> RecipeRow:
    plain = {name: text.replace("{", "(").replace("}", ")") for name, text in text_of_row(sheet, row).items()}
    kept = {name: plain[name] for name in _KEPT[sheet] if plain.get(name)}
    return RecipeRow(sheet=sheet, cells={name: text for name, text in {**cells, **kept}.items() if text}, only={})


def _table(cells: Mapping[str, str]) -> str:
    return "{ " + ", ".join(f"{name} = {_quoted(text)}" for name, text in cells.items() if text) + " }"


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
