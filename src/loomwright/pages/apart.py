"""A piece of work done in a process of its own, so that pages answer meanwhile and it can be stopped at once."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable
from typing import Any, TypeVar

from loomwright.pages.ending import deaf_to_hand, end_with_server
from loomwright.refusals import NoAnswer, Refusal, Stopped

__all__ = ["Tell", "worked_apart"]

_LISTENS_S = 0.5
T = TypeVar("T")
Tell = Callable[[int, int], None]


def worked_apart(what: str, work: Callable[..., T], given: tuple[object, ...], tell: Tell) -> T:
    """What `work(*given, tell)` gives, worked out in another process, which is killed where `tell` raises.

    Args:
        what: the answer's name, for what is said where there is none.
        work: a function of a module, found there by the other process.
        tell: called with what is done and to do; may raise Stopped.
    Raises:
        NoAnswer: the process was ended from outside, or the work was refused.
    """
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe(duplex=False)
    process = context.Process(target=_work, args=(what, work, given, there), daemon=True)
    with deaf_to_hand():
        process.start()
    there.close()
    done, of = 0, 0
    try:
        while True:
            if here.poll(_LISTENS_S):
                word, told = here.recv()
                if word == "found":
                    found: T = told
                    return found
                if word == "refused":
                    raise told
                done, of = told
            tell(done, of)
    except (EOFError, OSError):
        raise NoAnswer(what, ("Its process was ended from outside; try again.",)) from None
    finally:
        process.kill()
        process.join()
        here.close()


def _work(what: str, work: Callable[..., Any], given: tuple[object, ...], pipe: Any) -> None:
    end_with_server()

    def tell(done: int, of: int) -> None:
        pipe.send(("told", (done, of)))

    try:
        pipe.send(("found", work(*given, tell)))
    except Stopped:
        pass
    except Refusal as refusal:
        pipe.send(("refused", NoAnswer(what, (str(refusal),))))
    finally:
        pipe.close()
