"""What does the page of the handover say: the archive and how far it is, the lid's code, what a later visit found?"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.handover.drift import drift_of
from loomwright.handover.known_limits import band_words
from loomwright.handover.later_visit import ReadAgain
from loomwright.job.rows import Proof
from loomwright.pages.addresses import job_path
from loomwright.pages.answer_bench import AnswerStanding
from loomwright.pages.handover_files import COPY_PAGE

__all__ = ["BaselineLine", "ControllerLine", "HandoverPage", "handover_page"]

_KB = 1024
_NO_DESK = "A camera shows what to do in an emergency, without any network."


@dataclass(frozen=True, slots=True, kw_only=True)
class ControllerLine:
    """A file off a controller. digest: SHA-256.   drop: where it is taken away."""

    name: str
    size: str
    digest: str
    drop: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BaselineLine:
    """One test that passed. point: where the probes go.   now: what was read on a later visit, as typed.

    verdict: held against it, or empty.   says: what its move is a sign of.   visits: what earlier visits read.
    """

    test: str
    point: str
    when: str
    then: str
    unit: str
    band: str
    now: str
    verdict: str
    says: str
    visits: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HandoverPage:
    """The page. waiting: it is being made.   done, of: of it. [-]   size: of the archive, printed; empty: not made.

    names: files in the archive.   causes: ranked, each with its share in words.   visit_says: one sentence.
    """

    revision: int
    waiting: bool
    stopped: bool
    refused: str
    done: int
    of: int
    made: bool
    names: tuple[str, ...]
    archive: str
    copy: str
    lid: str
    lid_says: str
    stop: str
    again: str
    files: tuple[ControllerLine, ...]
    send: str
    baseline: tuple[BaselineLine, ...]
    visit: str
    visit_keep: str
    visit_blank: str
    visit_count: int
    visit_says: str
    fault: str
    causes: str
    symptom: str
    parts: tuple[str, ...]


def handover_page(
    job: str,
    revision: int,
    standing: AnswerStanding[Mapping[str, bytes]],
    *,
    files: Mapping[str, bytes],
    baseline: Sequence[Proof],
    again: Sequence[ReadAgain] = (),
    address: str = "",
    parts: Sequence[str] = (),
    visits: Sequence[Proof] = (),
    today: str = "",
) -> HandoverPage:
    """The page.

    Args:
        job: its name.
        revision: of the job. [-]
        standing: how far the files are.
        files: those of its controllers, name -> bytes.
        baseline: tests that passed.
        again: read on a later visit.
        parts: that may do nothing.
        visits: readings of earlier visits, on record.
        today: the day, for the pace of what moves.
        address: that the code inside the lid opens; empty where it holds its lines itself.
    """
    answer = standing.answer
    read = {one.test: one for one in again}
    off = sum(one.verdict in ("moved", "outside") for one in again)
    return HandoverPage(
        revision=revision,
        waiting=answer is None and not standing.stopped and standing.refused is None,
        stopped=standing.stopped,
        refused=str(standing.refused or ""),
        done=standing.done,
        of=standing.of,
        made=answer is not None,
        names=() if answer is None else tuple(name for name in answer if not name.startswith("sheets/")),
        archive=job_path(job, "handover", "archive.zip"),
        copy=job_path(job, "handover", "copy", COPY_PAGE),
        lid_says=f"A camera on this network opens {address}" if address else _NO_DESK,
        lid=job_path(job, "handover", "copy", "lid.svg"),
        stop=job_path(job, "handover", "stop"),
        again=job_path(job, "handover", "again"),
        files=tuple(
            ControllerLine(
                name=name,
                size=f"{max(1, round(len(data) / _KB))} kB",
                digest=hashlib.sha256(data).hexdigest(),
                drop=job_path(job, "handover", "files", "drop"),
            )
            for name, data in files.items()
        ),
        send=job_path(job, "handover", "files"),
        baseline=tuple(_line(one, read.get(one.test), visits, today) for one in baseline),
        visit=job_path(job, "handover", "visit"),
        visit_keep=job_path(job, "handover", "visit", "keep"),
        visit_blank=job_path(job, "handover", "visit.csv"),
        visit_count=len({one.time for one in visits}),
        visit_says=_says(len(again), off),
        fault=job_path(job, "fault"),
        causes=job_path(job, "handover", "causes"),
        symptom=job_path(job, "symptom"),
        parts=tuple(parts),
    )


def _says(count: int, off: int) -> str:
    if not count:
        return ""
    return f"{count} read again, {off} not as then." if off else f"{count} read again, all as then."


def _line(proof: Proof, again: ReadAgain | None, visits: Sequence[Proof], today: str) -> BaselineLine:
    drift = None if again is None else drift_of(again, today)
    earlier = [one for one in visits if one.test == proof.test]
    return BaselineLine(
        test=proof.test,
        point=f"{proof.point} to {proof.to}" if proof.to else proof.point,
        when=proof.when.text or "at rest",
        then=_figure(proof),
        unit=proof.unit,
        band=band_words(proof),
        now="" if again is None else again.now,
        verdict="" if again is None else again.verdict,
        says="" if drift is None else drift.says,
        visits="; ".join(f"{one.time[:10]} {_figure(one)}" for one in earlier),
    )


def _figure(proof: Proof) -> str:
    return "" if proof.value is None else f"{proof.value:.4g}" if isinstance(proof.value, float) else str(proof.value)
