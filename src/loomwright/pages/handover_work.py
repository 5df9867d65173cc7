"""The files of a handover, made in a process of its own."""

from __future__ import annotations

from collections.abc import Mapping

from loomwright.car import Checked
from loomwright.pages.apart import Tell, worked_apart
from loomwright.pages.handover_files import HandoverAsked, handover_files

__all__ = ["handover_apart"]


def handover_apart(asked: HandoverAsked, checked: Checked | None, tell: Tell) -> Mapping[str, bytes]:
    """The files of a handover, name -> bytes.

    Args:
        checked: what the check found, where it is known.
        tell: called with what is done and to do; may raise Stopped.
    Raises:
        NoAnswer: the process was ended from outside, or the job has no answer.
    """
    return worked_apart("the handover", _made, (asked, checked), tell)


def _made(asked: HandoverAsked, checked: Checked | None, tell: Tell) -> Mapping[str, bytes]:
    return handover_files(asked, tell, checked)
