"""What does the next person who opens this car need, beside the papers?

In: the pack of a car, its numbers to start with, its revisions, the controller's files. Out: lists of text: what to do
when something burns, which fuse feeds what, what was decided, what was read when all was well, the engine's numbers,
the gear-change lines, what is known not to be right, what was changed when, the digests of the controller's files.

A reading is a baseline when it is the newest of its test, later visits left out, and passed. What stands under `limits`
is everything that is known and was left: findings, waived gates, tests that failed or could not be made, snags and
questions that are open, and what the sheets leave open.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from loomwright.calibration.starting import StartNumbers
from loomwright.handover.known_limits import band_words, figure_words, known_limits
from loomwright.handover.lists import PackList
from loomwright.handover.number_sheet import gear_summaries
from loomwright.handover.pack import Pack
from loomwright.handover.records import TitleBlock
from loomwright.handover.revision_sheet import Changed
from loomwright.job.job import Job
from loomwright.job.rows import Proof
from loomwright.quantities.printing import for_print
from loomwright.startup.first_start import EMERGENCY

__all__ = ["VISIT", "Changed", "ControllerFile", "HandedOver", "baseline_of", "handed_over"]

VISIT = "later visit"
"""What stands in the notes of a proof that was read on a later visit: on record, and no new baseline."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ControllerFile:
    """One file of a controller, as it came off it. size: [bytes]   digest: SHA-256, as hexadecimal figures."""

    name: str
    size: int
    digest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HandedOver:
    """What is handed over as text. code: what the square code inside the fuse-box lid gives a camera."""

    title: TitleBlock
    lists: tuple[PackList, ...]
    code: str


def handed_over(
    pack: Pack,
    job: Job,
    *,
    numbers: StartNumbers | None = None,
    changes: Sequence[Changed] = (),
    files: Sequence[ControllerFile] = (),
    address: str = "",
) -> HandedOver:
    """Everything that is handed over beside the papers.

    Args:
        pack: what the papers say.
        job: as it stands.
        numbers: the engine's, None where too little is known of it.
        changes: the revisions, the newest first.
        files: those of the controllers.
        address: of the offline copy on the desk; where left out the code inside the lid holds its lines itself.
    """
    lists = (
        _emergency(pack),
        _fuses(pack),
        _owner(job),
        _baseline(job),
        _numbers(numbers),
        *_gears(job),
        _limits(pack, job),
        _changes(changes),
        _files(files),
    )
    title = pack.paper.title
    return HandedOver(title=title, lists=lists, code=address or _lid_words(title))


def baseline_of(proofs: Sequence[Proof]) -> tuple[Proof, ...]:
    """The newest proof of every test whose newest one passed, in the order of the sheet; readings of a later visit
    stand on record only, so that a slow drift is not lost from one visit to the next.
    """
    newest = {one.test: one for one in proofs if one.notes != VISIT}
    return tuple(one for one in newest.values() if one.verdict == "passed")


def _lid_words(title: TitleBlock) -> str:
    """What a telephone shows that reaches no desk."""
    name = f"{title.title}, revision {title.revision}" if title.revision else title.title
    return f"{name}\n{EMERGENCY}\nThe rest: open index.html of the handover archive."


def _emergency(pack: Pack) -> PackList:
    kills = [(one.step, one.says) for one in pack.paper.cautions if one.kills]
    return _list("emergency", "when|what to do", [("Anything at all", EMERGENCY), *kills])


def _fuses(pack: Pack) -> PackList:
    rows = ((one.id, one.name, one.place, one.rating, one.colour, " ".join(one.dies)) for one in pack.paper.fuses)
    return _list("fuses", "fuse|name|where|rating|colour|without it these are dead", rows)


def _owner(job: Job) -> PackList:
    answered = ((one.text, one.answer) for one in job.questions if one.answer)
    return _list("decided with the owner", "asked|answered", answered)


def _baseline(job: Job) -> PackList:
    rows = (
        (
            one.test,
            one.point,
            one.to,
            one.when.text,
            band_words(one),
            figure_words(one.value),
            one.unit,
            one.warmth,
            one.time,
        )
        for one in baseline_of(job.proofs)
    )
    return _list("baseline", "test|point|to|when|band|read|unit|car|time", rows)


def _numbers(numbers: StartNumbers | None) -> PackList:
    made = numbers.numbers if numbers is not None else ()
    rows = ((one.name, for_print(one.value), one.unit, one.says, one.source) for one in made)
    return _list("engine numbers", "number|to start with|unit|means|from", rows)


def _gears(job: Job) -> Iterable[PackList]:
    for one in gear_summaries(job):
        yield _list(f"gear lines, {one.programme}", f"km/h at pedal|{'|'.join(one.pedals)}", one.lines)


def _limits(pack: Pack, job: Job) -> PackList:
    rows = known_limits(pack.paper.findings, job, pack.paper.provisional)
    return _list("known limits", "what|of|says|mend", rows)


def _changes(changes: Sequence[Changed]) -> PackList:
    return _list("changes", "revision|time|who|why", ((str(one.number), one.time, one.who, one.why) for one in changes))


def _files(files: Sequence[ControllerFile]) -> PackList:
    rows = ((one.name, str(one.size), one.digest) for one in sorted(files, key=lambda one: one.name))
    return _list("controller files", "file|bytes|SHA-256", rows)


def _list(name: str, headings: str, rows: Iterable[tuple[str, ...]]) -> PackList:
    return PackList(name=name, headings=tuple(headings.split("|")), rows=tuple(rows))
