"""What stops an answer: the exceptions of the whole package.

A *finding* is about the job and is a value (see `findings`). A *refusal* says that there is no answer at all: the
sheets cannot be read as a job, a figure lies outside what a table or a method covers, a circuit has no solution, a job
is not on the shelf, or a person stopped a long piece of work. Few and flat: one base, one class a cause. Each keeps its
facts as attributes; its text is made from them, so a page, a command and a test read the same thing.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "BadDocument",
    "NoAnswer",
    "OutOfReach",
    "Problem",
    "Refusal",
    "Stopped",
    "TableFault",
    "as_plain",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing in the sheets that cannot be read, and what would mend it.

    sheet: the sheet's name, as in the folder or the workbook.
    row: the row as a spreadsheet numbers it, the heading being row 1; None where the whole sheet is meant. [-]
    column: the column's heading; empty where the whole row is meant.
    found: what stands there, as written.
    allowed: what may stand there, in words.
    mend: what to do about it, in words.
    """

    sheet: str
    row: int | None
    column: str
    found: str
    allowed: str
    mend: str

    @property
    def says(self) -> str:
        """The problem as one sentence: where, what was found, what may stand there, the mend."""
        row = "" if self.row is None else f"row {self.row}"
        where = ", ".join(word for word in (f"sheet {self.sheet}" if self.sheet else "", row, self.column) if word)
        found = f"found {self.found!r}" if self.found else "nothing there"
        allowed = f", allowed: {self.allowed}" if self.allowed else ""
        mend = f". {self.mend.rstrip('.')}" if self.mend else ""
        return f"{where}: {found}{allowed}{mend}." if where else f"{found}{allowed}{mend}."


class Refusal(Exception):
    """The base of all refusals; `str()` of one is what a person reads.

    The facts are kept in `args` as they were given, so a refusal survives the trip from one process to another.
    """


class BadDocument(Refusal):
    """The sheets are not a job; `problems` lists everything that is in the way, not the first thing only.

    as_written: what could be read all the same, for what is only counted; None where nothing could.
    """

    def __init__(self, problems: tuple[Problem, ...], as_written: object = None) -> None:
        super().__init__(problems)
        self.problems = problems
        self.as_written = as_written

    def __str__(self) -> str:
        return "\n".join(problem.says for problem in self.problems)


class OutOfReach(Refusal):
    """A figure or a word lies outside what the method or the table covers, so there is nothing to go by.

    name: what was asked for, as the caller knows it.   found: what was given.   allowed: what is covered, in words.
    """

    def __init__(self, name: str, found: object, allowed: str) -> None:
        super().__init__(name, found, allowed)
        self.name = name
        self.found = found
        self.allowed = allowed

    def __str__(self) -> str:
        return f"{self.name}: found {self.found!r}, allowed: {self.allowed}."


class TableFault(Refusal):
    """A table that ships with the package has a cell that cannot be used; a mistake of ours, not of the job.

    table: the table's name.   row: its key or number.   column: the heading.   found: what stands there.
    """

    def __init__(self, table: str, row: str | int, column: str, found: object) -> None:
        super().__init__(table, row, column, found)
        self.table = table
        self.row = row
        self.column = column
        self.found = found

    def __str__(self) -> str:
        return f"table {self.table}, row {self.row}, {self.column}: found {self.found!r}, which cannot be used."


class NoAnswer(Refusal):
    """The question has no answer for this job; `reasons` are the likely causes, worked out from the job.

    question: what was asked, in words.   reasons: each a sentence, the likeliest first.
    """

    def __init__(self, question: str, reasons: tuple[str, ...] = ()) -> None:
        super().__init__(question, reasons)
        self.question = question
        self.reasons = reasons

    def __str__(self) -> str:
        return " ".join((f"{self.question.rstrip('.')}: no answer.", *self.reasons))


class Stopped(Refusal):
    """A person stopped a long piece of work; nothing was kept of it.

    done: pieces finished by then. [-]   of: pieces there were. [-]
    """

    def __init__(self, done: int = 0, of: int = 0) -> None:
        super().__init__(done, of)
        self.done = done
        self.of = of

    def __str__(self) -> str:
        return f"stopped at {self.done} of {self.of}." if self.of else "stopped."


def as_plain(refusal: BadDocument) -> dict[str, list[dict[str, str | int | None]]]:
    """The refused sheets as plain lists and words, in the shape that `--json` prints.

    Example:
        >>> problem = Problem(sheet="wires", row=3, column="to", found="X9", allowed="a point", mend="")
        >>> as_plain(BadDocument((problem,)))
        {'refused': [{'sheet': 'wires', 'row': 3, 'column': 'to', 'found': 'X9', 'allowed': 'a point', 'mend': ''}]}
    """
    return {
        "refused": [
            {
                "sheet": problem.sheet,
                "row": problem.row,
                "column": problem.column,
                "found": problem.found,
                "allowed": problem.allowed,
                "mend": problem.mend,
            }
            for problem in refusal.problems
        ]
    }
