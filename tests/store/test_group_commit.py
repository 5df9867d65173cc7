"""What waits together is written together; what is lost is lost for all of it, and said before anybody is told."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future

import pytest
from sqlalchemy import Connection, create_engine
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
def writer(said: list[str]) -> Iterator[GroupCommit]:
    engine = create_engine("sqlite://", poolclass=StaticPool, connect_args={"check_same_thread": False})
    made = GroupCommit(engine, lambda: said.append("lost"))
    yield made
    made.close()
    engine.dispose()


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
