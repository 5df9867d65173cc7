"""Which conditions does the job contain, and where does each stand?

Conditions stand in cells (`when` of drives and requirements), in the settings of parts (`closes_when`, `live_when`)
and in the kinds themselves. Whoever has to know every threshold or every variable that matters asks here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from loomwright.job.conditions import Condition, parse_condition
from loomwright.job.job import Job
from loomwright.job.rows import Part
from loomwright.refusals import OutOfReach
from loomwright.tables.kinds import CONDITIONS, Kind

__all__ = ["Asked", "condition_settings", "conditions_asked"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One condition and its place: sheet, index of the row in the sheet, heading, and the setting where it is one."""

    sheet: str
    index: int
    column: str
    condition: Condition
    setting: str = ""
    written: bool = True


def conditions_asked(job: Job, kinds: Mapping[str, Kind]) -> Iterator[Asked]:
    """Every condition that can change what the car does or what is asked of it; readings are not among them.

    Args:
        kinds: the library's and the job's own, see `points.kinds_of`.
    """
    for index, drive in enumerate(job.drives):
        yield Asked(sheet="drives", index=index, column="when", condition=drive.when)
    for index, requirement in enumerate(job.requirements):
        yield Asked(sheet="requirements", index=index, column="when", condition=requirement.when)
    for index, part in enumerate(job.parts):
        kind = kinds.get(part.kind)
        if kind is not None:
            yield from _of_part(index, part, kind)


def condition_settings(kind: Kind) -> tuple[str, ...]:
    """The settings of a kind that are conditions."""
    named = (element.params.get(word) for element in kind.elements for word in CONDITIONS)
    return tuple(dict.fromkeys(value[1:] for value in named if isinstance(value, str) and value.startswith("$")))


def _of_part(index: int, part: Part, kind: Kind) -> Iterator[Asked]:
    """The conditions of one part: written in its settings, else its kind's."""
    defaults = {setting.name: setting.default for setting in kind.settings}
    for name in condition_settings(kind):
        written = part.settings.get(name, "")
        condition = _readable(written or str(defaults.get(name) or ""))
        if condition is not None:
            yield Asked(
                sheet="parts", index=index, column="settings", condition=condition, setting=name, written=bool(written)
            )
    for element in kind.elements:
        for word in CONDITIONS:
            value = element.params.get(word)
            if isinstance(value, str) and not value.startswith("$"):
                condition = _readable(value)
                if condition is not None:
                    yield Asked(
                        sheet="parts", index=index, column="kind", condition=condition, setting=word, written=False
                    )


def _readable(text: str) -> Condition | None:
    """The condition, or None where the text is none; reading the sheets has said so already."""
    try:
        return parse_condition(text)
    except OutOfReach:
        return None
