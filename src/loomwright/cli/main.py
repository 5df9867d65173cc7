"""The console command: reads the words, runs one command, turns what it raises into a sentence and an exit code."""

from __future__ import annotations

import os
import sys
from argparse import ArgumentParser
from collections.abc import Iterable, Mapping, Sequence
from importlib import import_module
from typing import Any, NoReturn

from loomwright.cli.printing import refuse
from loomwright.job.nearest import nearest
from loomwright.refusals import NoAnswer, OutOfReach, Refusal, Stopped

__all__ = ["COMMANDS", "main"]

COMMANDS: Mapping[str, str] = {
    "new": "new",
    "add": "add",
    "save-recipe": "save_recipe",
    "check": "check",
    "solve": "solve",
    "truth": "truth",
    "worst": "worst",
    "meter": "meter",
    "locate": "locate",
    "start": "start",
    "timing": "timing",
    "numbers": "numbers",
    "sensor": "sensor",
    "prove": "prove",
    "route": "route",
    "splices": "splices",
    "size": "size",
    "decide": "decide",
    "allocate": "allocate",
    "cavities": "cavities",
    "fuse-ways": "fuse_ways",
    "heat": "heat",
    "gears": "gears",
    "faults": "faults",
    "runs": "runs",
    "cut": "cut",
    "place": "place",
    "compare": "compare",
    "why": "why",
    "built": "built",
    "next": "next_thing",
    "revisions": "revisions",
    "draw": "draw",
    "board": "board",
    "pack": "pack",
    "handover": "handover",
    "visit": "visit",
    "symptom": "symptom",
    "quote": "quote",
    "hours": "hours",
    "identify": "identify",
    "read": "read",
    "log": "log",
    "import": "import_job",
    "export": "export",
    "demo": "demo",
    "tour": "tour",
    "serve": "serve",
    "devices": "devices",
    "backup": "backup",
    "restore": "restore",
    "selfcheck": "selfcheck",
}
"""Command word -> its module in `loomwright.cli`, which has HELP, add_arguments and run; loaded when it is typed."""

_STOPPED = 130


class _Parser(ArgumentParser):
    """A parser that refuses in our words, as everything else does."""

    def error(self, message: str) -> NoReturn:
        """Refuse what was typed."""
        raise NoAnswer(f"{self.prog} as typed", (f"{message[:1].upper()}{message[1:]}.", f"See {self.prog} --help."))


def _parser(words: Iterable[str]) -> ArgumentParser:
    """The parser of some commands. words: all where the help lists them, else the one that was typed."""
    parser = _Parser(
        prog="loomwright",
        description="The electrics of a car from its sheets: what is wrong, what to measure, what to print.",
        allow_abbrev=False,
    )
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for word in words:
        module = _module(word)
        module.add_arguments(commands.add_parser(word, help=module.HELP, description=module.HELP, allow_abbrev=False))
    return parser


def _module(word: str) -> Any:
    return import_module(f"loomwright.cli.{COMMANDS[word]}")


def main(words: Sequence[str] | None = None) -> int:
    """Run one command; gives its exit code: 0 nothing or notes only, 1 a fault or warning, 2 broken input."""
    typed = list(sys.argv[1:] if words is None else words)
    _print_anything()
    try:
        _known_command(typed)
        first = typed[0] if typed else ""
        arguments = _parser((first,) if first in COMMANDS else COMMANDS).parse_args(typed)
        code = int(_module(arguments.command).run(arguments))
        sys.stdout.flush()
        return code
    except Stopped as stopped:
        sys.stderr.write(f"\n{stopped} Nothing was kept of it; the job is as it was.\n")
        return _STOPPED
    except Refusal as refusal:
        return refuse(refusal, "--json" in typed)
    except BrokenPipeError:  # whoever read along has seen enough
        _print_nowhere()
        return 0
    except OSError as fault:  # the answer itself could not be printed
        _print_nowhere()
        sys.stderr.write(f"{fault.strerror or fault}: the answer could not be told to its end.\n")
        return 2
    except KeyboardInterrupt:
        sys.stderr.write("\nstopped.\n")
        return _STOPPED


def _known_command(typed: Sequence[str]) -> None:
    word = next((word for word in typed if not word.startswith("-")), "")
    if word and word not in COMMANDS:
        like = nearest(word, COMMANDS)
        raise OutOfReach("command", word, " ".join(COMMANDS) + (f"; nearest: {like}" if like else ""))


def _print_nowhere() -> None:
    """What is left to print goes nowhere, so that leaving does not stumble over it."""
    try:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except (OSError, ValueError):  # no real file behind it
        return


def _print_anything() -> None:
    """A terminal without our letters shows them as numbers; it does not stop the answer."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure") and (stream.encoding or "").lower().replace("-", "") != "utf8":
            stream.reconfigure(errors="backslashreplace")
