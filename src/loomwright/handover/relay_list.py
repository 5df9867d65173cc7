"""What works each relay, what does its contact feed, and what stops when it is pulled out of its socket?

*Coil from* and *coil to* are followed in the first state of the paper in which the relay is in: from the coil back
towards the battery as far as the first fuse, and on towards earth as far as a controller's pin or an earth point. A
relay that is in in none of the states says so, and names the wires at its coil instead. *Most* is the largest current
through a contact against what it may carry for ever. *Stops* is solved with the whole relay out (`outage`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from loomwright.findings import id_order
from loomwright.handover.fuse_list import in_box_order
from loomwright.handover.outage import gauges_of, stops_without_part
from loomwright.handover.pack_records import RelayContact, RelayLine
from loomwright.handover.wire_ends import WireEnd, wire_ends
from loomwright.job.rows import Part
from loomwright.network.solve import Batch
from loomwright.quantities import for_print
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.current_path import bringing, named, taking
from loomwright.tables.kinds import resolve_settings

__all__ = ["RelayContact", "RelayLine", "relays_of"]

_GROUP = "relays"
_NEVER_IN = "not in in any state here"
_JOINS = ("join",)
_LEAST_A = 0.001


def relays_of(scene: Scene, before: Batch) -> tuple[RelayLine, ...]:
    """The relays and flashers, by place.

    Args:
        before: the states of the paper, solved.
    """
    job, kinds = scene.job, scene.kinds
    relays = [part for part in scene.parts.values() if part.kind in kinds and kinds[part.kind].group == _GROUP]
    ends = wire_ends(job, kinds)
    places = {place.id: place.name or place.id for place in job.places}
    return tuple(_line(scene, before, part, ends, places) for part in in_box_order(relays, kinds))


def _line(
    scene: Scene, before: Batch, part: Part, ends: Mapping[str, tuple[WireEnd, ...]], places: Mapping[str, str]
) -> RelayLine:
    kind = scene.kinds[part.kind]
    coil_from, coil_to, remark = _coil(scene, before, part.id, ends)
    return RelayLine(
        id=part.id,
        name=part.name or kind.title,
        kind=kind.title,
        place=places.get(part.place, part.place),
        coil_from=coil_from,
        coil_to=coil_to,
        remark=remark,
        contacts=tuple(_contacts(scene, before, part, ends)),
        stops=stops_without_part(scene.compiled, part.id, before, gauges_of(scene.job, scene.kinds)),
    )


def _coil(scene: Scene, before: Batch, part: str, ends: Mapping[str, tuple[WireEnd, ...]]) -> tuple[str, str, str]:
    """What feeds the coil, what earths it, and a remark; nothing where the part has no coil."""
    coils = [k for k in scene.elements_of.get(part, ()) if scene.element(k).type == "coil"]
    device = next(
        (k for k, one in enumerate(scene.compiled.network.devices) if _is_relay(one.name, one.what, part)), -1
    )
    if not coils:
        return "", "", ""
    polarity = scene.vehicle.live_sign
    rows = np.flatnonzero(before.devices[:, device]) if device >= 0 else np.array([], int)
    first, second = scene.ends(coils[0])
    if not len(rows):
        return _wires_at(scene, ends, first), _wires_at(scene, ends, second), _NEVER_IN
    row = int(rows[0])
    live, earthed = sorted((first, second), key=lambda node: -polarity * float(before.v[row, node]))
    answers = Answers(scene.compiled, before, np.ones(len(before.values), bool))
    feed = named(scene, bringing(scene, answers, row, live, polarity))
    way = taking(scene, answers, row, earthed, polarity)
    return _from_fuse(scene, feed), _to_earth(scene, way, part), ""


def _from_fuse(scene: Scene, way: Sequence[str]) -> str:
    """The last fuse on the way to a coil and what lies between, wires and joints left out."""
    parts = [name for name in way if name in scene.parts and scene.kind(name).duty not in _JOINS]
    fuses = [k for k, name in enumerate(parts) if scene.kind(name).duty == "protection"]
    return ", ".join(parts[fuses[-1] :] if fuses else parts)


def _to_earth(scene: Scene, way: Sequence[int], part: str) -> str:
    """What earths a coil: the parts up to a controller's pin or to a metal; the metal where there is no part."""
    told: list[str] = []
    for k in way:
        element = scene.element(k)
        name = element.part
        if name and name != part and name in scene.parts and scene.kind(name).duty not in _JOINS:
            if scene.kind(name).duty == "controller":
                told.append(element.name.rpartition(".")[0])
                break
            told.append(name)
        metal = next((one for node in scene.ends(k) if "." not in (one := scene.name_of(node))), "")
        if metal:
            return ", ".join(dict.fromkeys(told)) or metal
    return ", ".join(dict.fromkeys(told)) or "nothing"


def _contacts(scene: Scene, before: Batch, part: Part, ends: Mapping[str, tuple[WireEnd, ...]]) -> list[RelayContact]:
    """Its contacts that have wires at both ends, in the order of the kind."""
    settings = resolve_settings(scene.kinds[part.kind], part.settings)
    found = []
    for k in scene.elements_of.get(part.id, ()):
        element = scene.element(k)
        if element.type not in ("contact", "switch"):
            continue
        names = [scene.name_of(node) for node in scene.ends(k)]
        if not all(name in ends for name in names):
            continue
        most_a = float(np.abs(before.amps[:, k]).max(initial=0.0))
        rating_a = element.rating_a if element.rating_a is not None else settings.get("contact_a")
        fed = ends[names[1]]
        found.append(
            RelayContact(
                terminals=" to ".join(name.split(".", 1)[1] for name in names),
                feeds=tuple(dict.fromkeys(end.there for end in fed if end.there)),
                most=f"{for_print(most_a, side='up')} A" if most_a >= _LEAST_A else "none",
                rating=f"{for_print(float(rating_a), side='down')} A" if rating_a not in (None, "") else "not known",
            )
        )
    return found


def _wires_at(scene: Scene, ends: Mapping[str, tuple[WireEnd, ...]], node: int) -> str:
    here = ends.get(scene.name_of(node), ())
    return ", ".join(sorted({f"{end.there} by {end.wire}" for end in here}, key=id_order)) or "nothing"


def _is_relay(name: str, what: str, part: str) -> bool:
    return what == "relay" and name.split(".")[0] == part
