"""How do photos and the list of revisions travel in an archive, and come back onto a shelf?

Beside the sheets of an archive lie, as plain files that any program opens:

    photos/photos.json        which picture belongs to which row, by whom, when, with which note
    photos/0001.jpg ...       the pictures
    history/revisions.json    number, time, who, why and kind of every revision, to read
    history/edits.json        what each of them did to which row, to be brought back (`past`)

Coming back, each picture is opened and written anew as any that is sent: what an archive from elsewhere holds beside
the picture is gone, and what is no picture is refused.
"""

from __future__ import annotations

import json
from collections.abc import Mapping

from loomwright.refusals import BadDocument, Problem
from loomwright.store.past import past_members
from loomwright.store.photos import add_photo, photo_data, photos_of, picture_of
from loomwright.store.shelf import Shelf

__all__ = ["PHOTO_LIST", "bring_photos", "kept_of", "photo_faults"]

PHOTO_LIST = "photos/photos.json"
"""The member that says which picture belongs where."""

_COLUMNS = ("file", "sheet", "row", "time", "who", "note")
_LONGEST_TEXT = 2000


def kept_of(shelf: Shelf, name: str) -> Mapping[str, bytes]:
    """What lies beside the sheets in an archive of a stored job: member -> bytes.

    Raises:
        OutOfReach: no such job.
    """
    members: dict[str, bytes] = {}
    listed = []
    for place, photo in enumerate(photos_of(shelf, name), start=1):
        file = f"photos/{place:04}.jpg"
        members[file] = photo_data(shelf, name, photo.id)
        listed.append({"file": file, **{column: getattr(photo, column) for column in _COLUMNS[1:]}})
    if listed:
        members[PHOTO_LIST] = _json(listed)
    return {**members, **past_members(shelf, name)}


def photo_faults(kept: Mapping[str, bytes]) -> tuple[Problem, ...]:
    """What stands in the way of the photos of an archive; asked before any of it is kept."""
    try:
        listed = _listed(kept)
    except (ValueError, TypeError) as fault:
        return (_fault(PHOTO_LIST, str(fault), "a list of photos, each with file, sheet and row"),)
    faults = []
    for line in listed:
        data = kept.get(line["file"])
        if data is None:
            faults.append(_fault(PHOTO_LIST, f"{line['file']} is not there", "photos that lie beside the list"))
            continue
        try:
            picture_of(data)
        except BadDocument as refusal:
            faults += [_fault(line["file"], one.found, one.allowed) for one in refusal.problems]
    return tuple(faults)


def bring_photos(shelf: Shelf, name: str, kept: Mapping[str, bytes]) -> int:
    """Keep the photos of an archive with a job that was taken in from it; gives how many. [-]

    Raises:
        BadDocument: what `photo_faults` tells.
    """
    listed = _listed(kept)
    for line in listed:
        words = {column: line[column] for column in ("time", "who", "note")}
        add_photo(shelf, name, line["sheet"], line["row"], kept[line["file"]], **words)
    return len(listed)


def _listed(kept: Mapping[str, bytes]) -> list[dict[str, str]]:
    """The list of photos; none where there is no list.

    Raises:
        ValueError, TypeError: it is no such list.
    """
    raw = kept.get(PHOTO_LIST)
    if raw is None:
        return []
    told = json.loads(raw)
    if not isinstance(told, list) or not all(isinstance(one, dict) for one in told):
        raise TypeError("no list of photos")
    found = []
    for one in told:
        line = {column: one.get(column, "") for column in _COLUMNS}
        if not all(isinstance(text, str) and len(text) <= _LONGEST_TEXT for text in line.values()):
            raise TypeError("a cell that is no text, or a very long one")
        if not line["file"] or not line["sheet"]:
            raise TypeError("a photo without a file or a sheet")
        found.append(line)
    return found


def _json(told: object) -> bytes:
    return (json.dumps(told, indent=1, ensure_ascii=False) + "\n").encode()


def _fault(place: str, found: str, allowed: str) -> Problem:
    return Problem(sheet="", row=None, column="", found=f"{place}: {found}", allowed=allowed, mend="Send it without")
