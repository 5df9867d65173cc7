"""Small cars with blank sizes and ratings, and every choice of them tried one by one.

`open_sheets` makes a car: a battery fuse or two, loads behind a shared feed and a shared earth. `best_by_trying` judges
every combination with the rules of the check themselves (DRP-1, RAT-2, RAT-1, PRO-2 to PRO-4) and the limits that are
of sizing alone, and knows nothing of how sizes are chosen.
"""

from __future__ import annotations

import random
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from itertools import product

from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network
from loomwright.sizing import protection
from loomwright.states.asking.scene import Scene, scene_of
from loomwright.states.asking.search import search
from loomwright.states.rules import drop, rating
from loomwright.tables.kinds import load_kinds
from loomwright.tables.limits import least_size_mm2

Row = dict[str, str]

STOCK_MM2 = (0.5, 0.75, 1.5, 2.5, 6.0)
COPPER_G_PER_MM3 = 0.00889


def open_sheets(dice: random.Random) -> dict[str, list[Row]]:
    """A car with two to four blank wires and perhaps a blank fuse: loads behind a shared feed and a shared earth."""
    parts: list[Row] = [
        {"id": "BAT", "kind": "battery"},
        {"id": "F1", "kind": "fuse", "settings": f"rating_a={dice.choice((15, 20, 30))}"},
        {"id": "SW1", "kind": "switch", "circuit": "work"},
        {"id": "SW2", "kind": "switch", "circuit": "work"},
        {"id": "E1", "kind": "earth_point", "settings": "on=body"},
        {"id": "SP1", "kind": "splice"},
    ]
    circuits = [{"id": "work", "class": "lighting", "drop_limit_v": f"{dice.choice((0.35, 0.5, 0.9))}"}]
    length = lambda: f"{dice.choice((300, 900, 2000, 4000))}"  # noqa: E731
    wires: list[Row] = [
        {"id": "W1", "from": "BAT.-", "to": "body", "size_mm2": "25", "length_mm": "400"},
        {"id": "W2", "from": "BAT.+", "to": "F1.1", "size_mm2": "6", "length_mm": "250"},
        {"id": "W3", "from": "F1.2", "to": "SP1.1", "circuit": "work", "length_mm": length()},
    ]
    at = "SP1"
    if dice.random() < 0.5:
        parts.append({"id": "F2", "kind": "fuse", "settings": dice.choice(("", "rating_a=10"))})
        wires.append(
            {
                "id": "W4",
                "from": "SP1.2",
                "to": "F2.1",
                "circuit": "work",
                "length_mm": dice.choice(("200", "900")),
                "size_mm2": "2.5",
            }
        )
        wires.append(
            {
                "id": "W5",
                "from": "F2.2",
                "to": "SW1.1",
                "circuit": "work",
                "length_mm": length(),
                "size_mm2": dice.choice(("", "1.5")),
            }
        )
    else:
        wires.append(
            {
                "id": "W5",
                "from": "SP1.2",
                "to": "SW1.1",
                "circuit": "work",
                "length_mm": length(),
                "size_mm2": dice.choice(("", "2.5")),
            }
        )
    wires.append(
        {"id": "W6", "from": f"{at}.3", "to": "SW2.1", "circuit": "work", "length_mm": length(), "size_mm2": "2.5"}
    )
    shared_earth = dice.random() < 0.6
    if shared_earth:
        parts.append({"id": "SP2", "kind": "splice"})
        wires.append({"id": "W9", "from": "SP2.1", "to": "E1.1", "circuit": "work", "length_mm": length()})
    for number in (1, 2):
        load = f"LA{number}"
        if dice.random() < 0.7:
            parts.append(
                {"id": load, "kind": "lamp", "circuit": "work", "settings": f"watt={dice.choice((21, 45, 60))}"}
            )
            plus, minus = "1", "2"
        else:
            parts.append(
                {
                    "id": load,
                    "kind": "fan",
                    "circuit": "work",
                    "settings": f"running_a={dice.choice((5, 8))}; inrush_a=20; inrush_s=0.2",
                }
            )
            plus, minus = "+", "-"
        wires.append(
            {
                "id": f"W{9 + number}",
                "from": f"SW{number}.2",
                "to": f"{load}.{plus}",
                "circuit": "work",
                "length_mm": length(),
                "size_mm2": dice.choice(("", "1.5")),
            }
        )
        end = f"SP2.{number + 1}" if shared_earth else "E1.1"
        wires.append(
            {
                "id": f"W{11 + number}",
                "from": f"{load}.{minus}",
                "to": end,
                "circuit": "work",
                "length_mm": length(),
                "size_mm2": "1.5",
            }
        )
    stock = [{"item": "wire", "size_mm2": f"{size:g}"} for size in STOCK_MM2]
    return {
        "vehicle": [{"name": "title", "value": "small"}],
        "circuits": circuits,
        "parts": parts,
        "wires": wires,
        "stock": stock,
    }


@dataclass(frozen=True)
class Best:
    """The choice of least copper that breaks nothing."""

    copper_g: float
    sizes_mm2: Mapping[str, float]


def blank_wires(job: Job) -> tuple[str, ...]:
    """Wires whose size is blank."""
    return tuple(wire.id for wire in job.wires if wire.size_mm2 is None)


def with_sizes(job: Job, sizes_mm2: Mapping[str, float], ratings_a: Mapping[str, float]) -> Job:
    """The job with these sizes and ratings typed."""
    wires = tuple(replace(wire, size_mm2=sizes_mm2.get(wire.id, wire.size_mm2)) for wire in job.wires)
    parts = tuple(
        replace(part, settings=FixedMap({**part.settings, "rating_a": f"{ratings_a[part.id]:g}"}))
        if part.id in ratings_a
        else part
        for part in job.parts
    )
    return replace(job, wires=wires, parts=parts)


def faults_of(job: Job, chosen: Collection[str]) -> list[str]:
    """What the check's own rules find of size and fuse where something chosen has a part in it.

    PRO-2 to PRO-4, DRP-1, RAT-1 and RAT-2, faults and warnings; the dearest question last, and only if nothing is found
    before it.

    Args:
        chosen: wires and fuses whose cell was blank; what is wrong with given ones alone is not theirs.
    """
    scene = scene_in(job)
    for rules in (protection.sheet_findings, drop.sheet_findings):
        found = [told.finding for told in rules(scene)]
        kept = [one for one in found if one.rule not in ("PRO-1", "DRP-2") and one.severity != "note"]
        mine = [one for one in kept if not set(chosen).isdisjoint((*one.at, *one.touches, *one.path))]
        if mine:
            return [f"{one.rule} {one.at}" for one in mine]
    broken = search(scene.compiled, rating.watches(scene)).broken
    return [f"{one.watch.rule} {one.watch.at}" for one in broken if not set(chosen).isdisjoint(one.watch.at)]


def scene_in(job: Job) -> Scene:
    """The scene of a job."""
    kinds = load_kinds()
    return scene_of(job, kinds, compile_network(build_network(job, kinds)))


def best_by_trying(job: Job, ratings_a: Mapping[str, float]) -> Best | None:
    """Every combination of sizes in the order of its copper, judged by the check; the first that breaks nothing."""
    names = blank_wires(job)
    length = {wire.id: wire.length_mm or 0.0 for wire in job.wires}
    least = {name: least_size_mm2("lighting") for name in names}
    combos: list[tuple[float, tuple[float, ...]]] = sorted(
        (sum(COPPER_G_PER_MM3 * size * length[name] for name, size in zip(names, sizes, strict=True)), sizes)
        for sizes in product(STOCK_MM2, repeat=len(names))
    )
    for copper_g, sizes in combos:
        chosen = dict(zip(names, sizes, strict=True))
        if all(chosen[name] >= least[name] for name in names) and not faults_of(
            with_sizes(job, chosen, ratings_a), (*names, *ratings_a)
        ):
            return Best(copper_g, chosen)
    return None
