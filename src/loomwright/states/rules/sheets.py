"""What do the sheets themselves say that a person should know, without being refused for it?

JOB-1: contacts of a switch that nobody has tested yet (`verified` = no); whatever rests on them is not released.
JOB-2: two wires of the same colour and tracer in one connector.
JOB-3, a fault: a fuse of a rating its family is not made in.
JOB-5: more variables decide one thing than the search combines, so that not every state is covered.
"""

from __future__ import annotations

from collections.abc import Iterator
from fnmatch import fnmatchcase

from loomwright.findings import Finding
from loomwright.job.rows import Connector, Wire
from loomwright.states.asking.folding import Told
from loomwright.states.asking.plan import ALL_BELOW, cut_cones
from loomwright.states.asking.scene import Scene
from loomwright.states.rules.bridges import first_four
from loomwright.tables.fuses import family_named
from loomwright.tables.kinds import resolve_settings

__all__ = ["sheet_findings"]


def sheet_findings(scene: Scene) -> tuple[Told, ...]:
    """The notes, each once a switch or a colour."""
    found = (*_untested(scene), *_same_colours(scene), *_unmade(scene), *_cut(scene))
    return tuple(Told(finding, None, None) for finding in found)


def _untested(scene: Scene) -> Iterator[Finding]:
    rows: dict[str, list[str]] = {}
    for row in scene.job.contacts:
        if row.verified is False and row.part in scene.parts:
            rows.setdefault(row.part, []).append(row.position)
    for part, positions in rows.items():
        yield Finding(
            rule="JOB-1",
            severity="note",
            at=(part,),
            label=f"{part} ({scene.title(part)})",
            wrong=f"nobody has tested its contacts in {' '.join(dict.fromkeys(positions))}",
            mend="Put an ohmmeter on its terminals in each position, and write yes in the column verified",
        )


def _same_colours(scene: Scene) -> Iterator[Finding]:
    for connector in scene.job.connectors:
        by_colour: dict[str, list[str]] = {}
        for wire in _wires_in(scene, connector):
            if wire.colour:
                by_colour.setdefault(wire.colour, []).append(wire.id)
        for colour, ids in sorted(by_colour.items()):
            if len(ids) > 1:
                yield Finding(
                    rule="JOB-2",
                    severity="note",
                    at=first_four((connector.id, *ids)),
                    touches=tuple(ids[3:]),
                    label=f"{connector.id} (connector)",
                    wrong=f"{len(ids)} of its wires are {colour}: {' '.join(ids)}",
                    mend="Give one of them another tracer, or mark both ends",
                )


def _unmade(scene: Scene) -> Iterator[Finding]:
    for index, element in enumerate(scene.compiled.network.elements):
        if element.type != "fuse" or element.rating_a is None:
            continue
        settings = resolve_settings(scene.kind(element.part), scene.parts[element.part].settings)
        family = family_named(str(settings.get("family", "blade_c")))
        if element.rating_a in family.ratings:
            continue
        yield Finding(
            rule="JOB-3",
            severity="fault",
            at=(element.part,),
            touches=tuple(wire.id for end in scene.ends(index) for wire in scene.wires_at.get(scene.name_of(end), ())),
            label=f"{element.part} (fuse, {family.id})",
            wrong="no fuse of this family is made with this rating",
            found=element.rating_a,
            allowed=min(family.ratings, key=lambda rating: abs(rating - (element.rating_a or 0.0))),
            unit="A",
            mend="Take the next rating below that is made, or another family, and see PRO for its wire",
        )


def _cut(scene: Scene) -> Iterator[Finding]:
    if scene.space.raw <= ALL_BELOW:
        return
    variables = scene.compiled.network.variables
    cut = cut_cones(scene.space, scene.cones.asked)
    if cut:
        left_out = frozenset().union(*(left for _, left in cut))
        inside = frozenset().union(*(cone for cone, _ in cut)) - left_out
        names = [variables[k].name for k in sorted(left_out)]
        most = max(len(cone) for cone, _ in cut)
        yield Finding(
            rule="JOB-5",
            severity="note",
            at=first_four(names),
            touches=tuple(variables[k].name for k in sorted(inside)),
            label=f"{' '.join(names)} (state variables)",
            wrong=f"not every combination of them was solved: up to {most} variables decide one thing together",
            mend="Check once more with some of them fixed at one value, or give them fewer values",
        )


def _wires_in(scene: Scene, connector: Connector) -> Iterator[Wire]:
    """The wires that end in a connector's cavities, each once."""
    patterns = [f"{connector.part}.{pattern}" for pattern in connector.terminals]
    seen: set[str] = set()
    for point, wires in scene.wires_at.items():
        if any(fnmatchcase(point, pattern) for pattern in patterns):
            for wire in wires:
                if wire.id not in seen:
                    seen.add(wire.id)
                    yield wire
