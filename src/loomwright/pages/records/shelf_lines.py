"""What does the page of all jobs say?"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from loomwright.pages.addresses import job_path
from loomwright.refusals import Problem
from loomwright.store.shelf import JobLine

__all__ = ["EXAMPLE_WORDS", "Example", "ShelfLine", "ShelfPage", "name_from", "shelf_page"]

EXAMPLE_WORDS: Mapping[str, str] = {
    "van": "A made-up delivery van of 1974 with injection and an electronic automatic: the demonstration, mended.",
    "van-as-drawn": "The same van as it was first drawn, with the mistakes this trade knows. Look at its findings.",
    "tourer": "A light open two-seater, injected, with a manual gearbox: a sound car.",
    "wagon": "An estate car with an electronic automatic and its battery in the boot: a sound car.",
}
"""Example -> what it is."""

_NO_NAME = re.compile(r"[^\w \-]+", re.UNICODE)
_LONGEST = 80


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfLine:
    """One job. revision: its newest. [-]"""

    name: str
    title: str
    revision: int
    time: str
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """A job that comes along."""

    name: str
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfPage:
    """The shelf. problems: why something was not taken in.   typed: the name typed then.   way: the way in it was."""

    jobs: tuple[ShelfLine, ...]
    examples: tuple[Example, ...]
    problems: tuple[Problem, ...] = ()
    typed: str = ""
    way: str = ""
    most_mb: int = 0


def shelf_page(
    jobs: Iterable[JobLine],
    examples: Iterable[str],
    *,
    most_mb: int,
    problems: tuple[Problem, ...] = (),
    typed: str = "",
    way: str = "",
) -> ShelfPage:
    """The page of all jobs, those changed last first.

    Args:
        jobs: of the shelf.
        examples: names of those that come along.
        most_mb: what a file may hold. [-]
        problems: why something was not taken in.
        typed: the name that was typed.
        way: which way of taking one in was used.
    """
    lines = [
        ShelfLine(name=one.name, title=one.title, revision=one.revision, time=one.time, href=job_path(one.name))
        for one in jobs
    ]
    lines.sort(key=lambda line: line.time, reverse=True)
    return ShelfPage(
        jobs=tuple(lines),
        examples=tuple(Example(name=name, says=EXAMPLE_WORDS.get(name, "")) for name in examples),
        problems=problems,
        typed=typed,
        way=way,
        most_mb=most_mb,
    )


def name_from(file: str) -> str:
    """A name for a job from that of its file.

    Example:
        >>> name_from("Old van, rev 3.xlsx"), name_from("../x.loomjob"), name_from("....")
        ('Old van rev 3', 'x', 'job')
    """
    last = re.split(r"[/\\]", file)[-1]
    stem = last.rpartition(".")[0] or last
    plain = " ".join(_NO_NAME.sub(" ", stem).split())[:_LONGEST].strip()
    return plain or "job"
