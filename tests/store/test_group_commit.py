"""What waits together is written together; what is lost is lost for all of it, and said before anybody is told."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future

import pytest
from sqlalchemy import Connection, Engine, create_engine
from sqlalchemy.pool import StaticPool

from loomwright.refusals import OutOfReach
from loomwright.store.group_commit import GroupCommit, Written
from loomwright.store.text_rows import SetCell
from tests.store.conftest import key_of

LONG_S = 60.0


def nothing() -> None:
    """Nothing becomes true for readers."""


def answering(answer: str, said: list[str]) -> Callable[[Connection], Written[str]]:
    def work(connection: Connection) -> Written[str]:
        said.append(answer)
        return Written(answer=answer, published=nothing)

    return work


def breaking(connection: Connection) -> Written[str]:
    raise ValueError("no room on the disk")


class Held:
    """A piece of work that the writer is at until it is let go, so that what comes meanwhile waits together."""

    def __init__(self, writer: GroupCommit) -> None:
        self._let_go, self._begun = threading.Event(), threading.Event()
        self.done: Future[str] = writer.hand_in(self._work)
        assert self._begun.wait(LONG_S)

    def _work(self, connection: Connection) -> Written[str]:
        self._begun.set()
        assert self._let_go.wait(LONG_S)
        return Written(answer="held", published=nothing)

    def let_go(self) -> None:
        self._let_go.set()
        assert self.done.result(LONG_S) == "held"


@pytest.fixture
def said() -> list[str]:
    return []


@pytest.fixture
def engine() -> Iterator[Engine]:
    made = create_engine("sqlite://", poolclass=StaticPool, connect_args={"check_same_thread": False})
    yield made
    made.dispose()


@pytest.fixture
def writer(engine: Engine, said: list[str]) -> Iterator[GroupCommit]:
    made = GroupCommit(engine, lambda: said.append("lost"))
    yield made
    made.close()


def test_who_has_gone_away_meanwhile_wants_nothing_done(writer, said):
    held = Held(writer)
    gone, stays = writer.hand_in(answering("gone", said)), writer.hand_in(answering("stays", said))
    assert gone.cancel()
    held.let_go()
    assert stays.result(LONG_S) == "stays"
    assert said == ["stays"]


def test_what_is_refused_takes_nothing_else_along(writer, said):
    def refusing(connection: Connection) -> Written[str]:
        raise OutOfReach("job", "old_van", "jobs there are")

    held = Held(writer)
    refused, kept = writer.hand_in(refusing), writer.hand_in(answering("kept", said))
    held.let_go()
    assert kept.result(LONG_S) == "kept"
    with pytest.raises(OutOfReach):
        refused.result(LONG_S)
    assert said == ["kept"]


def test_a_transaction_that_is_lost_is_lost_for_all_in_it_and_the_next_goes_on(writer, said):
    held = Held(writer)
    both = [writer.hand_in(answering("written", said)), writer.hand_in(breaking)]
    held.let_go()
    for future in both:
        with pytest.raises(RuntimeError, match="no room on the disk"):
            future.result(LONG_S)
    assert said == ["written", "lost"]
    assert writer.do(answering("next", said)) == "next"


@pytest.fixture
def cried(monkeypatch) -> list[BaseException | None]:
    """What the writer's thread says went wrong on it."""
    heard: list[BaseException | None] = []
    monkeypatch.setattr(threading, "excepthook", lambda told: heard.append(told.exc_value))
    return heard


def test_what_is_on_the_disk_is_answered_so_though_nobody_could_be_told_and_the_next_is_written(writer, said, cried):
    def deaf() -> None:
        raise RuntimeError("the loop of the listener is closed")

    def unheard(connection: Connection) -> Written[str]:
        return Written(answer="on the disk", published=deaf)

    held = Held(writer)
    first, beside = writer.hand_in(unheard), writer.hand_in(answering("beside", said))
    held.let_go()
    assert (first.result(LONG_S), beside.result(LONG_S)) == ("on the disk", "beside")
    assert [str(fault) for fault in cried] == ["the loop of the listener is closed"]
    assert writer.do(answering("next", said)) == "next"


def test_those_of_a_lost_transaction_are_told_though_the_loss_itself_could_not_be_put_right(engine, said, cried):
    def no_way() -> None:
        raise RuntimeError("what readers see could not be put back")

    writer = GroupCommit(engine, no_way)
    with pytest.raises(RuntimeError, match="no room on the disk"):
        writer.hand_in(breaking).result(LONG_S)
    assert [str(fault) for fault in cried] == ["what readers see could not be put back"]
    assert writer.hand_in(answering("next", said)).result(LONG_S) == "next"
    writer.close()


def test_work_that_would_end_its_thread_does_not_end_the_writer(writer, said):
    def leaving(connection: Connection) -> Written[str]:
        raise SystemExit(3)

    with pytest.raises(RuntimeError, match="3"):
        writer.hand_in(leaving).result(LONG_S)
    assert said == ["lost"]
    assert writer.hand_in(answering("next", said)).result(LONG_S) == "next"


def test_what_waits_is_finished_before_the_end_and_what_comes_after_it_is_told_so(writer, said):
    held = Held(writer)
    waiting = writer.hand_in(answering("waited", said))
    closing = threading.Thread(target=writer.close)
    closing.start()
    held.let_go()
    closing.join(LONG_S)
    assert waiting.result(0) == "waited"
    with pytest.raises(RuntimeError, match="the shelf is closed"):
        writer.hand_in(answering("too late", said))
    assert said == ["waited"]


def test_an_edit_is_taken_and_seen_though_who_listens_raises(shelf, cried):
    def deaf() -> None:
        raise RuntimeError("the loop of the listener is closed")

    shelf.listen(deaf)
    for revision, length in ((2, "950"), (3, "970")):
        before = shelf.now("car").job.wires[1].length_mm
        edit = SetCell(
            sheet="wires", row_key=key_of(shelf, "wires", "W2"), column="length_mm", old=f"{before:g}", new=length
        )
        told = shelf.hand_in("car", [edit], who="A", why="", token="", kind="edit").result(LONG_S)
        assert (told.is_taken, told.revision) == (True, revision)
        assert shelf.now("car").job.wires[1].length_mm == float(length)
    assert len(cried) == 2


def test_an_edit_in_a_lost_transaction_never_was(shelf):
    def length(old: str, new: str) -> SetCell:
        return SetCell(sheet="wires", row_key=key_of(shelf, "wires", "W2"), column="length_mm", old=old, new=new)

    held = Held(shelf._writer)
    lost = shelf.hand_in("car", [length("900", "950")], who="A", why="", token="", kind="edit")
    broken = shelf._writer.hand_in(breaking)
    held.let_go()
    for future in (lost, broken):
        with pytest.raises(RuntimeError):
            future.result(LONG_S)
    told = shelf.edit("car", [length("900", "970")], who="A")
    assert (told.is_taken, told.revision) == (True, 2)
    assert shelf.now("car").job.wires[1].length_mm == 970.0
