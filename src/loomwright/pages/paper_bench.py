"""Who makes the papers of a job, so that nobody waits for them, and where do they lie?

One at a time, each in a process of its own that can be stopped at once: it is killed, and what it had made so far is
thrown away. Papers lie on the disk beside the shelf by a digest of the job's sheets, so that the same sheets are never
worked out twice; those of the newest two digests of a job are kept. Steps, readings and hours recorded meanwhile do
not make them stale.
"""

from __future__ import annotations

import hashlib
import json
import multiprocessing
import shutil
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from threading import Lock
from typing import Any

from loomwright.car import Car, Checked
from loomwright.handover.pack import pack_of
from loomwright.job.job import Job
from loomwright.loom.as_built_records import AsBuilt
from loomwright.pages.ending import deaf_to_hand, end_with_server
from loomwright.pages.paper_files import EVERYTHING, PAPER_FILES, PapersAsked, asked_words, paper_files
from loomwright.refusals import Refusal
from loomwright.store.snapshot import Snapshot

__all__ = ["MADE_OF", "KeptPapers", "PaperBench", "PaperStanding", "paper_digest"]

MADE_OF = (
    "states",
    "fuses",
    "relays",
    "tests",
    "drawings",
    "board.pdf",
    "tests.pdf",
    "start.pdf",
    "dyno.pdf",
    "pack.xlsx",
    "labels.csv",
    "pack.pdf",
)
"""What is made, in order, once the job is checked."""

_NOT_IN_PAPERS = ("progress", "hours", "readings", "reasons", "photos")
"""Sheets that no paper shows; what steps of the build change of papers comes with what is asked of the built car."""

_ABOUT = "about.json"
_KEPT = 2
_CHECKING = "checking"
_LETTERS = 20
_MARK = 6

_Given = tuple[Job, Checked | None, AsBuilt | None, str, PapersAsked]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptPapers:
    """Papers on the disk. revision: of the job they are of. [-]   made: when.   sizes: file -> its size. [bytes]

    asked: which of them were wanted and how, in words; empty: all of them on A4.
    """

    digest: str
    revision: int
    made: str
    sizes: Mapping[str, int]
    folder: Path
    asked: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperStanding:
    """How far the papers of a job are.

    kept: the newest there are.   is_stale: the sheets are others now.   revision: being made; None: nothing is. [-]
    making: what is made just now.   done, of: of the states checked, or of the pieces made. [-]
    ahead: how many jobs' papers are made before. [-]   refused: why the last try came to nothing, in words.
    """

    kept: KeptPapers | None
    is_stale: bool = False
    revision: int | None = None
    making: str = ""
    done: int = 0
    of: int = 0
    ahead: int = 0
    refused: str = ""


@dataclass(slots=True)
class _Work:
    """One job's papers being made, or waiting to be."""

    digest: str
    revision: int
    asked: str = ""
    making: str = ""
    done: int = 0
    of: int = 0
    process: Any = None
    stopped: bool = False


class PaperBench:
    """Makes papers one after another, beside the shelf in `folder`."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder / "papers"
        self._line = ThreadPoolExecutor(1, thread_name_prefix="papers")
        self._work: dict[int, _Work] = {}
        self._refused: dict[int, tuple[str, str]] = {}
        self._lock = Lock()

    def look(self, job: int, snapshot: Snapshot, built: AsBuilt | None = None) -> PaperStanding:
        """How far the papers of a job are.

        Args:
            job: its number on the shelf. [-]
            snapshot: the job now.
            built: what changes ask of what is built already.
        """
        kept = next(iter(self._kept(job)), None)
        digest = paper_digest(snapshot, built)
        told = PaperStanding(kept=kept, is_stale=kept is not None and kept.digest != digest)
        with self._lock:
            work = self._work.get(job)
            if work is None:
                of, words = self._refused.get(job, ("", ""))
                return replace(told, refused=words if of == digest else "")
            ahead = list(self._work).index(job)
            return replace(told, revision=work.revision, making=work.making, done=work.done, of=work.of, ahead=ahead)

    def begin(
        self,
        job: int,
        snapshot: Snapshot,
        *,
        checked: Checked | None,
        built: AsBuilt | None,
        date: str,
        made: str,
        asked: PapersAsked = EVERYTHING,
    ) -> None:
        """Make the papers of a snapshot, unless they are made already or just now.

        Args:
            job: its number on the shelf. [-]
            snapshot: whose papers; its rows must fit each other.
            checked: what its check found, where it is known.
            built: what changes ask of what is built already.
            date: printed on the papers.
            made: the time, as it is written down.
            asked: which papers, and how.
        """
        digest = paper_digest(snapshot, built)
        typed, words = snapshot.job, asked_words(asked)
        if typed is None or (digest, words) in ((one.digest, one.asked) for one in self._kept(job)[:1]):
            return
        with self._lock:
            running = self._work.get(job)
            if running is not None and (running.digest, running.asked) == (digest, words):
                return
            if running is not None:
                _kill(running)
            self._refused.pop(job, None)
            work = self._work[job] = _Work(digest=digest, revision=snapshot.revision, asked=words)
            self._line.submit(self._make, job, work, (typed, checked, built, date, asked), made)

    def stop(self, job: int) -> None:
        """Stop making the papers of a job.

        Args:
            job: its number on the shelf. [-]
        """
        with self._lock:
            work = self._work.pop(job, None)
            if work is not None:
                _kill(work)

    def file(self, job: int, name: str) -> tuple[KeptPapers, Path] | None:
        """One of the newest papers of a job, and where it lies; None where there is none.

        Args:
            job: its number on the shelf. [-]
            name: one of `PAPER_FILES`.
        """
        kept = next(iter(self._kept(job)), None)
        if kept is None or name not in PAPER_FILES or name not in kept.sizes:
            return None
        return kept, kept.folder / name

    def close(self) -> None:
        """Stop everything."""
        with self._lock:
            for work in self._work.values():
                _kill(work)
            self._work.clear()
        self._line.shutdown(wait=False, cancel_futures=True)

    def _make(self, job: int, work: _Work, given: _Given, made: str) -> None:
        """Run the process of one job's papers to its end; on the bench's own thread."""
        place = self._folder / str(job)
        name = work.digest + hashlib.sha256(work.asked.encode()).hexdigest()[: _MARK if work.asked else 0]
        aside = place / f"{name}.making"
        try:
            shutil.rmtree(aside, ignore_errors=True)
            aside.mkdir(parents=True)
            context = multiprocessing.get_context("spawn")
            here, there = context.Pipe(duplex=False)
            about = {"digest": work.digest, "revision": work.revision, "made": made, "asked": work.asked}
            process = context.Process(target=_made_apart, args=(given, about, str(aside), there), daemon=True)
            with self._lock:
                if work.stopped:
                    return
                work.process = process
                with deaf_to_hand():
                    process.start()
            there.close()
            words = self._heard(here, work)
            process.join()
            if words or not (aside / _ABOUT).is_file():
                self._told(job, work, words or "the work was ended from outside; try again")
                return
            shutil.rmtree(place / name, ignore_errors=True)
            aside.rename(place / name)
            for old in self._kept(job)[_KEPT:]:
                shutil.rmtree(old.folder, ignore_errors=True)
        except OSError as fault:
            self._told(job, work, f"the disk does not take it: {fault.strerror}")
        finally:
            shutil.rmtree(aside, ignore_errors=True)
            with self._lock:
                if self._work.get(job) is work:
                    del self._work[job]

    def _heard(self, pipe: Any, work: _Work) -> str:
        """Follow what the process tells until it ends; gives why it came to nothing, or nothing."""
        while True:
            try:
                what, done, of = pipe.recv()
            except (EOFError, OSError):
                return ""
            if what == "refused":
                return str(done)
            work.making, work.done, work.of = what, done, of

    def _told(self, job: int, work: _Work, words: str) -> None:
        if not work.stopped:
            with self._lock:
                self._refused[job] = (work.digest, words)

    def _kept(self, job: int) -> list[KeptPapers]:
        """The papers of a job on the disk, newest first."""
        found = []
        for about in (self._folder / str(job)).glob(f"*/{_ABOUT}"):
            if about.parent.suffix == ".making":
                continue
            try:
                told = json.loads(about.read_text(encoding="utf-8"))
                names = told.pop("files", tuple(PAPER_FILES))
                sizes = {name: (about.parent / name).stat().st_size for name in PAPER_FILES if name in names}
                found.append(KeptPapers(**told, sizes=sizes, folder=about.parent))
            except (OSError, ValueError, TypeError):
                continue  # thrown away while it was looked at
        return sorted(found, key=lambda one: (one.revision, one.made), reverse=True)


def paper_digest(snapshot: Snapshot, built: AsBuilt | None = None) -> str:
    """A short text that changes when what stands in the papers' sheets changes, notes with it.

    Args:
        snapshot: the job.
        built: what changes ask of what is built already; it stands in the papers too.
    """
    told = hashlib.sha256()
    if built is not None:
        # what the record does not tell is no work to do, and comes with every step that is taken down without more
        asked = [ask.says for ask in built.asks if ask.does != "look"] + [proof.says for proof in built.proofs]
        told.update("\n".join(asked).encode())
    for sheet in sorted(snapshot.rows):
        if sheet in _NOT_IN_PAPERS or not snapshot.rows[sheet]:
            continue
        told.update(f"\n[{sheet}]".encode())
        for row in snapshot.rows[sheet]:
            told.update(("\n" + "\x1f".join(f"{name}={row.cells[name]}" for name in sorted(row.cells))).encode())
    return told.hexdigest()[:_LETTERS]


def _kill(work: _Work) -> None:
    work.stopped = True
    if work.process is not None:
        work.process.kill()


def _made_apart(given: _Given, about: dict[str, Any], folder: str, pipe: Any) -> None:
    """Make the papers of a job into a folder; in a process of its own."""
    end_with_server()
    try:
        files = _files(given, lambda *told: pipe.send(told))
        for name, data in files.items():
            (Path(folder) / name).write_bytes(data)
        (Path(folder) / _ABOUT).write_text(json.dumps(about | {"files": list(files)}), encoding="utf-8")
    except (Refusal, OSError) as refusal:
        pipe.send(("refused", str(refusal), 0))
    finally:
        pipe.close()


def _files(given: _Given, tell: Callable[[str, int, int], None]) -> Mapping[str, bytes]:
    typed, checked, built, date, asked = given
    car = Car(typed)

    def making(what: str) -> None:
        tell(what, MADE_OF.index(what) if what in MADE_OF else 0, len(MADE_OF))

    found = checked or car.check(lambda done, of: tell(_CHECKING, done, of))
    pack = pack_of(
        car.job,
        car.scene,
        found.findings,
        states_searched=found.states_searched,
        date=date,
        built=built,
        making=making,
        numbers=car.known_numbers,
        history=asked.history,
    )
    return paper_files(car, pack, making, asked)
