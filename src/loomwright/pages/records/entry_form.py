"""What does a form for one row of a sheet say, as it is opened and as it comes back?

A form knows the row by its own number and carries beside each field what stood there when it was opened, so that two
people at once are noticed. What could not be taken comes back as it was typed, with the words beside its field; where
somebody else was quicker, with both values.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from uuid import uuid4

from loomwright.job.schema import column_help, column_of
from loomwright.job.vocabulary import allowed_words

__all__ = ["Ask", "EntryField", "EntryForm", "Returned", "entry_form", "new_token"]

_NO_HELP = "-"
NEW = "new"
"""What the form of a row that is not there yet is called."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """One field that a form asks for. label: over it.   shape: line, lines, choice or figure.

    help: under it; the column's own where empty, none where it is `-`.   blank: the word of a choice that is blank.
    """

    name: str
    label: str
    shape: str = "line"
    help: str = ""
    wide: bool = False
    blank: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryField:
    """One field as it stands. value: what is in it.   was: what stood in the cell when the form was opened.

    choices: value and word.   told: why it was not taken.   theirs: what somebody else wrote meanwhile, if so.
    """

    name: str
    label: str
    shape: str
    help: str
    wide: bool
    value: str
    was: str
    choices: tuple[tuple[str, str], ...] = ()
    likely: tuple[str, ...] = ()
    told: str = ""
    theirs: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryForm:
    """One form. id: of its fields on the page.   row: the row's own number, empty for a new one.

    says: why it came back.   is_back: it came back.   back: the page it stands on, as it is.
    """

    id: str
    action: str
    row: str
    token: str
    fields: tuple[EntryField, ...]
    back: str
    says: str = ""
    is_back: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Returned:
    """A form that was not taken. form: its id.   typed: what was in its fields.   told: field -> why.

    theirs: field -> what somebody else wrote meanwhile.   status: of the answer. [-]
    """

    form: str
    typed: Mapping[str, str]
    told: Mapping[str, str] = field(default_factory=dict)
    theirs: Mapping[str, str] = field(default_factory=dict)
    says: str = "It was not taken. Nothing was changed."
    status: int = 422


def new_token() -> str:
    """A word that tells one sending of a form from another, so that a form sent twice is done once."""
    return uuid4().hex


def entry_form(
    sheet: str,
    asks: Sequence[Ask],
    *,
    action: str,
    page: str,
    cells: Mapping[str, str] | None = None,
    row: int | None = None,
    back: Returned | None = None,
    usual: Mapping[str, str] | None = None,
    prefix: str = "",
) -> EntryForm:
    """The form of a row, or of a new one.

    Args:
        sheet: whose columns it asks for; their help and allowed words are the sheet's.
        action: where it is sent.
        page: the page it stands on.
        cells: what stands in the row.
        row: its own number; None for a new one. [-]
        back: a form that was not taken; it is this one where the id is the same.
        usual: what stands in the fields of a new row.
        prefix: before the id, where a page has several sheets.
    """
    name = f"{prefix or sheet}-{NEW if row is None else row}"
    mine = back if back is not None and back.form == name else None
    there = cells or {}
    return EntryForm(
        id=name,
        action=action,
        row="" if row is None else str(row),
        token=new_token(),
        back=page,
        fields=tuple(_field(sheet, ask, there, mine, (usual or {}) if row is None else {}) for ask in asks),
        says=mine.says if mine is not None else "",
        is_back=mine is not None,
    )


def _field(
    sheet: str, ask: Ask, there: Mapping[str, str], back: Returned | None, usual: Mapping[str, str]
) -> EntryField:
    column = column_of(sheet, ask.name)
    words = allowed_words(column)
    stands = there.get(ask.name, "")
    value = stands or usual.get(ask.name, "")
    if back is not None:
        value = back.typed.get(ask.name, value)
    choices = ()
    if ask.shape == "choice":
        known = [*words] if not value or value in words else [value, *words]
        choices = (*((("", ask.blank),) if ask.blank else ()), *((word, word) for word in known))
    return EntryField(
        name=ask.name,
        label=ask.label,
        shape=ask.shape,
        help="" if ask.help == _NO_HELP else ask.help or column_help(sheet, ask.name),
        wide=ask.wide,
        value=value,
        was=stands,
        choices=choices,
        likely=words if ask.shape == "line" else (),
        told="" if back is None else back.told.get(ask.name, ""),
        theirs=None if back is None else back.theirs.get(ask.name),
    )
