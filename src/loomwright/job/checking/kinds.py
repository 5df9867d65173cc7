"""Is every part of a kind there is, and do its settings fit that kind? The job's own kinds are asked first."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from loomwright.job.asked import condition_settings
from loomwright.job.checking.look import Look, told
from loomwright.job.conditions import is_word, parse_condition
from loomwright.job.job import Job
from loomwright.job.points import Kinds, kind_text
from loomwright.job.rows import KindRow, Part
from loomwright.job.taking import FIRST_ROW
from loomwright.refusals import OutOfReach, Problem, TableFault
from loomwright.tables.kinds import TYPES, Kind, kind_from_rows, resolve_settings

__all__ = ["check_contacts", "check_kinds", "check_own_kinds"]

_SWITCH = "switch"
_METAL_SETTINGS = ("on", "bolted_to")


def check_own_kinds(
    job: Job, kinds: Kinds, numbers: Mapping[str, Sequence[int]]
) -> tuple[dict[str, Kind], list[Problem]]:
    """The kinds the job makes for itself, as far as they can be read, and what is wrong with the others."""
    groups: dict[str, list[int]] = {}
    for index, row in enumerate(job.kinds):
        if row.kind:
            groups.setdefault(row.kind, []).append(index)
    made: dict[str, Kind] = {}
    problems: list[Problem] = []
    for kind_id, indices in groups.items():
        rows = [kind_text(job.kinds[index]) for index in indices]
        try:
            made[kind_id] = kind_from_rows(rows)
        except (TableFault, OutOfReach) as fault:
            listed = numbers.get("kinds", ())
            index = _row_meant(job.kinds, indices, fault)
            number = listed[index] if index < len(listed) else FIRST_ROW + index
            problems.append(_bad_kind(kind_id, number, fault))
    return made, problems


def check_kinds(look: Look) -> Iterator[Problem]:
    """Parts of an unknown kind, settings the kind does not have, figures and words that cannot be."""
    for index, part in enumerate(look.job.parts):
        kind = look.kinds.get(part.kind)
        if kind is None:
            own = any(row.kind == part.kind for row in look.job.kinds)
            if part.kind and not own and "kinds" not in look.unread:
                yield look.unknown(
                    "parts",
                    index,
                    "kind",
                    word=part.kind,
                    words=look.kinds,
                    what="kinds",
                    otherwise=f"Describe {part.kind} in the sheet kinds",
                )
            continue
        yield from _settings(look, index, part, kind)


def check_contacts(look: Look) -> Iterator[Problem]:
    """Rows of switch contacts that belong to something which is no switch."""
    for index, row in enumerate(look.job.contacts):
        place = look.ids["parts"].get(row.part)
        kind = None if place is None else look.kinds.get(look.job.parts[place].kind)
        if kind is not None and kind.duty != _SWITCH and not kind.positions:
            found = f"{row.part} ({kind.id})"
            mend = "Name the switch, or give the part a kind of switch"
            yield look.problem("contacts", index, "part", found=found, allowed="a switch", mend=mend)


def _settings(look: Look, index: int, part: Part, kind: Kind) -> Iterator[Problem]:
    """What is wrong with the settings of one part."""
    if not part.settings:
        return
    names = [setting.name for setting in kind.settings]
    try:
        resolve_settings(kind, part.settings)
    except OutOfReach:
        # asked again one by one, since the first that cannot be hides the others
        for name, text in part.settings.items():
            yield from _one_setting(look, index, part, kind, names, name, text)
    for name in _METAL_SETTINGS:
        metal = part.settings.get(name, "")
        if name in names and metal and metal not in (*look.metals, "none") and "metals" not in look.unread:
            otherwise = f"Add a row {metal} to the sheet metals"
            yield look.unknown(
                "parts", index, "settings", word=metal, words=(*look.metals, "none"), what="metals", otherwise=otherwise
            )
    variable = part.settings.get("variable", "")
    if variable and not is_word(variable):
        allowed = "a word without blanks and without , ; | = < > !"
        found = f"variable={variable}"
        yield look.problem("parts", index, "settings", found=found, allowed=allowed, mend="Write it as one word")
    for name in condition_settings(kind):
        text = part.settings.get(name, "")
        if text:
            yield from _condition(look, index, name, text)


def _one_setting(
    look: Look, index: int, part: Part, kind: Kind, names: Sequence[str], name: str, text: str
) -> Iterator[Problem]:
    if name not in names:
        what = f"settings of a {part.kind}"
        yield look.unknown(
            "parts",
            index,
            "settings",
            word=name,
            words=names,
            what=what,
            otherwise="Take it out, or describe a kind that has it",
        )
        return
    try:
        resolve_settings(kind, {name: text})
    except OutOfReach as refusal:
        mend = "Put it right, or take it out to have the usual one"
        yield look.problem("parts", index, "settings", found=f"{name}={text}", allowed=refusal.allowed, mend=mend)


def _condition(look: Look, index: int, name: str, text: str) -> Iterator[Problem]:
    """A setting that is a condition and cannot be read as one."""
    try:
        parse_condition(text)
    except OutOfReach as refusal:
        mend = f"Write it like {name}=engine=stopped|cranking"
        yield look.problem("parts", index, "settings", found=f"{name}={text}", allowed=refusal.allowed, mend=mend)


def _row_meant(rows: Sequence[KindRow], indices: Sequence[int], fault: TableFault | OutOfReach) -> int:
    """The row of the sheet that a fault in a kind is about, as near as it says."""
    named = str(fault.row) if isinstance(fault, TableFault) else str(fault.name)
    element = named.partition(".")[2]
    for index in indices:
        if element and rows[index].element == element:
            return index
    found = str(fault.found)
    for index in indices:
        if found and (found == rows[index].type or found in rows[index].settings or found in rows[index].terminals):
            return index
    return indices[0]


def _bad_kind(kind_id: str, number: int, fault: TableFault | OutOfReach) -> Problem:
    """A kind of the job's own that cannot be made, as a problem of its row."""
    column = fault.column if isinstance(fault, TableFault) else "settings"
    return Problem(
        sheet="kinds",
        row=number,
        column=column if column in ("kind", "element", "type", "terminals", "settings") else "settings",
        found=str(fault.found),
        allowed=fault.allowed if isinstance(fault, OutOfReach) else told("elements", list(TYPES)),
        mend=f"Describe {kind_id} by a row for each element, and rows without an element for its settings",
    )
