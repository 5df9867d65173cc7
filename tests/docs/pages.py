"""A page of the docs as something that can be followed: its fenced blocks in order, each of a sort.

    ```csv folder/wires.csv     a sheet: written as it stands
    ```csv job.xlsx wires       rows typed into a sheet of a workbook, under its headings
    ```python                   run in the page's one namespace; with >>> its outputs are compared
    ```console                  $ and a command; what follows is what it prints, `...` for what may differ

Anything else in a fence is a mistake of the page, so that no block is passed over unseen; `text` is prose.
"""

from __future__ import annotations

import contextlib
import csv
import doctest
import io
import re
import shlex
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import openpyxl

from loomwright.cli.main import main

__all__ = ["Block", "Follower", "blocks_of"]

_FENCE = re.compile(r"^```(?P<words>[^\n`]*)\n(?P<text>.*?)^```[ ]*$", re.MULTILINE | re.DOTALL)
_SORTS = ("csv", "python", "console", "text")
_ALIKE = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE


@dataclass(frozen=True)
class Block:
    """One fenced block. names: words behind its sort. line: where it begins, for who looks for it. [-]"""

    sort: str
    names: tuple[str, ...]
    text: str
    line: int


def blocks_of(text: str) -> list[Block]:
    """The fenced blocks of a page, in order.

    Raises:
        ValueError: a fence of no known sort, or one that is never closed.
    """
    found = []
    for match in _FENCE.finditer(text):
        sort, *names = match["words"].split() or [""]
        line = text.count("\n", 0, match.start()) + 1
        if sort not in _SORTS:
            raise ValueError(f"line {line}: a block of no known sort: {match['words']!r}")
        found.append(Block(sort, tuple(names), match["text"], line))
    if len(re.findall(r"^```", text, re.MULTILINE)) != 2 * len(found):
        raise ValueError("a fence that is never closed")
    return found


@dataclass
class Follower:
    """Somebody who does what a page says, in one folder.

    names: the namespace of its python.   code: what the last command left with. [-]
    """

    folder: Path
    names: dict[str, Any] = field(default_factory=dict)
    code: int = 0

    def follow(self, block: Block) -> list[str]:
        """Do what one block says; what came out otherwise than it says."""
        if block.sort == "csv":
            self._type_in(block)
            return []
        if block.sort == "python":
            return self._run(block)
        return self._console(block) if block.sort == "console" else []

    def _type_in(self, block: Block) -> None:
        place, *sheet = block.names
        path = self.folder / place
        if not sheet:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(block.text, encoding="utf-8")
            return
        book = openpyxl.load_workbook(path)
        _type_rows(book[sheet[0]], list(csv.DictReader(io.StringIO(block.text))))
        book.save(path)

    def _run(self, block: Block) -> list[str]:
        if ">>>" not in block.text:
            exec(compile(block.text, f"line {block.line}", "exec"), self.names)
            return []
        test = doctest.DocTestParser().get_doctest(block.text, self.names, "page", None, block.line)
        told: list[str] = []
        doctest.DocTestRunner(optionflags=_ALIKE, verbose=False).run(test, out=told.append, clear_globs=False)
        self.names.update(test.globs)
        return ["".join(told)] if told else []

    def _console(self, block: Block) -> list[str]:
        return [off for command, wanted in _commands(block.text) if (off := self._command(command, wanted, block.line))]

    def _command(self, command: str, wanted: str, line: int) -> str:
        words = shlex.split(command)
        if words == ["echo", "$?"]:
            got = f"{self.code}\n"
        else:
            if words[0] != "loomwright":
                raise ValueError(f"line {line}: {command!r} is no command of ours")
            said = io.StringIO()
            with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
                self.code = main(words[1:])
            got = said.getvalue()
        if doctest.OutputChecker().check_output(wanted, got, _ALIKE):
            return ""
        return f"line {line}: $ {command}\nsaid:\n{got}\nthe page has:\n{wanted}"


def _commands(text: str) -> Iterator[tuple[str, str]]:
    """Each command with the output that the page shows for it."""
    lines = text.splitlines(keepends=True)
    starts = [number for number, line in enumerate(lines) if line.startswith("$ ")]
    if not starts or starts[0] != 0:
        raise ValueError(f"a console block that does not begin with a command: {text[:40]!r}")
    for start, end in zip(starts, [*starts[1:], len(lines)], strict=True):
        yield lines[start][2:].strip(), "".join(lines[start + 1 : end])


def _type_rows(sheet: Any, rows: Sequence[dict[str, str]]) -> None:
    """Types rows under the headings of a sheet: over a row that begins with the same word, else below the last."""
    headings = {cell.value: cell.column for cell in sheet[1] if cell.value}
    for row in rows:
        first, name = next(iter(row.items()))
        begins = {sheet.cell(line, headings[first]).value: line for line in range(2, sheet.max_row + 1)}
        last = max((line for name, line in begins.items() if name is not None), default=1)
        line = begins.get(name, last + 1)
        for heading, text in row.items():
            if text:
                sheet.cell(line, headings[heading], text)
