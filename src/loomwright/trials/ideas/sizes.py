"""Fuse down or wire up in size, the next that is made first; fit what is made for the amps."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil

from loomwright.findings import Finding
from loomwright.job.rows import Part, Wire
from loomwright.refusals import OutOfReach
from loomwright.tables.conductors import sizes_mm2
from loomwright.tables.fuses import family_named
from loomwright.tables.kinds import resolve_settings
from loomwright.trials.bench import Bench
from loomwright.trials.mend import Idea

__all__ = ["larger_parts", "other_fuses", "settings_text", "thicker_wires"]

_STEPS = 4
_WIRES_MOST = 5
_LARGER = ("flasher", "relay")
"""Kinds of which one made for more amps goes into the place of another; a switch of an old car does not."""


def other_fuses(bench: Bench, finding: Finding) -> Iterator[Idea]:
    """The fuse named, one of a lower rating (PRO) or of a higher one (RAT)."""
    up = finding.rule.startswith("RAT")
    for name in finding.at:
        part = bench.scene.parts.get(name)
        if part is None or part.kind != "fuse":
            continue
        values = resolve_settings(bench.kinds[part.kind], part.settings)
        rating, family = values.get("rating_a"), values.get("family")
        if not isinstance(rating, float) or not isinstance(family, str):
            continue
        try:
            made = family_named(family).ratings
        except OutOfReach:
            continue
        limit = finding.allowed if finding.allowed is not None and not up else None
        fits = [one for one in made if (one > rating if up else one < rating and (limit is None or one <= limit))]
        for one in (fits if up else fits[::-1])[:_STEPS]:
            yield Idea(
                says=f"Fit a {one:g} A fuse at {name} in place of the {rating:g} A one",
                edits=(bench.changed("parts", name, "settings", settings_text(part, rating_a=f"{one:g}")),),
            )


def thicker_wires(bench: Bench, finding: Finding) -> Iterator[Idea]:
    """The wire named in the next sizes; where several are too thin for one fuse, all of them."""
    named = [bench.scene.wires[name] for name in finding.at if name in bench.scene.wires]
    many = [bench.scene.wires[n] for n in (*finding.at, *finding.touches) if n in bench.scene.wires]
    lone = named or many[:1]
    for wire in lone[:1]:
        for size in _larger(wire)[:_STEPS]:
            yield Idea(says=_says(wire, size), edits=(bench.changed("wires", wire.id, "size_mm2", f"{size:g}"),))
    if finding.rule.startswith("PRO") and 1 < len(many) <= _WIRES_MOST:
        for step in range(_STEPS):
            least = _larger(lone[0])[step : step + 1]
            thin = [wire for wire in many if least and (wire.size_mm2 or 0.0) < least[0]]
            if thin:
                yield Idea(
                    says=f"Fit {' '.join(wire.id for wire in thin)} in {least[0]:g} mm²",
                    edits=tuple(bench.changed("wires", wire.id, "size_mm2", f"{least[0]:g}") for wire in thin),
                )


def larger_parts(bench: Bench, finding: Finding) -> Iterator[Idea]:
    """A flasher or a relay made for the amps it carries, as the trade has them, in the place of a smaller one."""
    if finding.found is None or finding.unit != "A":
        return
    for name in finding.at:
        part = bench.scene.parts.get(name)
        if part is None or not part.kind.startswith(_LARGER):
            continue
        kind = bench.kinds[part.kind]
        for setting in kind.settings:
            if setting.name not in ("rating_a", "contact_a") or setting.name not in part.settings:
                continue
            usual = resolve_settings(kind, {}).get(setting.name)
            if isinstance(usual, float) and usual >= ceil(finding.found):
                text = settings_text(part, **{setting.name: f"{usual:g}"})
                yield Idea(
                    says=f"Fit a {kind.title} made for {usual:g} A at {name} in place of the "
                    f"{part.settings[setting.name]} A one",
                    edits=(bench.changed("parts", name, "settings", text),),
                )


def settings_text(part: Part, **figures: str) -> str:
    """The cell `settings` of a part with some of them set."""
    return "; ".join(f"{name}={text}" for name, text in {**part.settings, **figures}.items())


def _larger(wire: Wire) -> list[float]:
    return [size for size in sizes_mm2("metric") if size > (wire.size_mm2 or 0.0)]


def _says(wire: Wire, size_mm2: float) -> str:
    was = f" in place of {wire.size_mm2:g} mm²" if wire.size_mm2 else ""
    return f"Fit {wire.id} in {size_mm2:g} mm²{was}"
