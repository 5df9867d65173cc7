"""A job whose wires pass through a connector between two looms."""

from __future__ import annotations

from dataclasses import replace

from loomwright.job.job import Job
from loomwright.job.points import split_point
from loomwright.job.rows import Connector, Part, VehicleProperty


def through_plug(job: Job, parts: tuple[str, ...], *, holes: int = 0, ways: int = 8) -> Job:
    """The wires of some parts cut in two by X1, two rows of ways; the fuse box counted where `holes` says so. [-]"""
    wires, number = [], 0
    for wire in job.wires:
        if {split_point(wire.from_)[0], split_point(wire.to)[0]} & set(parts) and number < ways - 2 and wire.to:
            number += 1
            wires.append(replace(wire, to=f"X1.{number}p"))
            wires.append(replace(wire, id=f"{wire.id}b", from_=f"X1.{number}s", length_mm=None))
        else:
            wires.append(wire)
    settings = {"ways": str(ways), "family": "2.8 mm, sealed"}
    plug = Part(id="X1", kind="inline_connector", place="box", settings=settings, name="engine loom to body loom")
    face = Connector(id="C1", part="X1", layout=f"2x{ways // 2}")
    counted = (VehicleProperty(name="fuse_holes_box", value=str(holes)),) if holes else ()
    return replace(
        job,
        parts=(*job.parts, plug),
        connectors=(*job.connectors, face),
        wires=tuple(wires),
        vehicle=(*job.vehicle, *counted),
    )
