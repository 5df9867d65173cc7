"""A folder of sheets to ask about, and a command line that never lets anything but an exit code out."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from loomwright.cli.main import main
from tests.handover.van import rows


@dataclass(frozen=True)
class Told:
    """What one command said and left with."""

    code: int
    out: str
    err: str

    @property
    def plain(self) -> Any:
        """The answer, read as JSON."""
        return json.loads(self.out)

    @property
    def refused(self) -> list[dict[str, Any]]:
        """The refused places, read as JSON; each has exactly the keys of the contract."""
        assert self.code == 2
        assert set(self.plain) == {"refused"}
        for problem in self.plain["refused"]:
            assert set(problem) == {"sheet", "row", "column", "found", "allowed", "mend"}
        return self.plain["refused"]


def put(folder: Path, sheets: Mapping[str, Sequence[Mapping[str, str]]]) -> Path:
    """Write sheets into a folder."""
    folder.mkdir()
    for name, many in sheets.items():
        headings = list(dict.fromkeys(heading for row in many for heading in row))
        with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, headings or ["id"])
            writer.writeheader()
            writer.writerows(many)
    return folder


@pytest.fixture
def ask(capsys: pytest.CaptureFixture[str]) -> Callable[..., Told]:
    """Runs one command through `main`."""

    def run(*words: object) -> Told:
        code = main([str(word) for word in words])
        told = capsys.readouterr()
        assert "Traceback" not in told.out + told.err
        return Told(code, told.out, told.err)

    return run


@pytest.fixture
def job(tmp_path: Path) -> Callable[..., Path]:
    """Makes a folder of sheets; the small sound van where no others are given."""

    def make(sheets: Mapping[str, Sequence[Mapping[str, str]]] | None = None) -> Path:
        return put(tmp_path / "job", rows() if sheets is None else sheets)

    return make
