"""In which cavity of which connector does a terminal sit, and what is on the other side of it?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.handover.connector_faces import ConnectorFace

__all__ = ["Seat", "seats_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """A cavity. number: as it is counted. [-]   side: pin or socket, empty where the sheet says neither."""

    connector: str
    number: int
    side: str
    href: str


def seats_of(faces: tuple[ConnectorFace, ...], hrefs: Mapping[str, str]) -> Mapping[str, tuple[Seat, ...]]:
    """Point -> the cavities it sits in.

    Args:
        hrefs: connector -> its page.
    """
    found: dict[str, list[Seat]] = {}
    for face in faces:
        for cavity in face.cavities:
            if cavity.terminal:
                seat = Seat(connector=face.id, number=cavity.number, side=face.side, href=hrefs.get(face.id, ""))
                found.setdefault(f"{face.part}.{cavity.terminal}", []).append(seat)
    return {point: tuple(seats) for point, seats in found.items()}
