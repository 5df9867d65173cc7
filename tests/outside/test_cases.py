"""Every folder of outside figures: ours lies within the case's tolerance and away from figures known to be wrong."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.outside.cases import Case, ask, cases, row_of, source_of
from tests.outside.checked_page import HERE, Checked, all_folders, written_page

CASES = tuple(cases())


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.folder.relative_to(HERE).as_posix())
def test_ours_is_what_the_source_prints(case: Case, checked: list[Checked]) -> None:
    answers = ask(case)
    off = [answer for answer in answers if not answer.share <= 1.0]
    assert off == []
    assert [answer for answer in answers if answer.rejected] == []
    checked.append(row_of(case, answers))


def test_every_folder_is_whole() -> None:
    folders = {path.parent for pattern in ("expected.csv", "inputs.csv", "case.toml") for path in HERE.rglob(pattern)}
    assert len(folders) >= 15
    for folder in folders:
        for name in ("expected.csv", "inputs.csv", "case.toml", "README.md"):
            assert (folder / name).exists(), f"{folder}: no {name}"
        source_of(folder)
    assert {folder.relative_to(HERE).as_posix() for folder in folders} == set(all_folders())
    for case in CASES:
        assert set(case.questions) == set(case.printed), case.folder


def copied(case: Case, to: Path) -> Path:
    """A copy of a case's folder, alone."""
    return Path(shutil.copytree(case.folder, to / case.folder.name))


def test_a_folder_without_a_source_is_refused(tmp_path: Path) -> None:
    copied(CASES[0], tmp_path)
    with pytest.raises(FileNotFoundError, match="without a source"):
        list(cases(tmp_path))


def test_a_source_that_does_not_say_when_it_was_typed_is_refused(tmp_path: Path) -> None:
    copied(CASES[0], tmp_path)
    words = 'title = "x"\nedition = "1"\nplace = "p"\ngrade = "read"\nread = "once"\n'
    (tmp_path / "source.toml").write_text(words, encoding="utf-8")
    with pytest.raises(FileNotFoundError, match="typed, rounding"):
        list(cases(tmp_path))


def test_a_grade_that_is_none_of_ours_is_refused(tmp_path: Path) -> None:
    copied(CASES[0], tmp_path)
    text = (HERE / "k_factor" / "source.toml").read_text(encoding="utf-8")
    (tmp_path / "source.toml").write_text(text.replace('"read"', '"heard"'), encoding="utf-8")
    with pytest.raises(FileNotFoundError, match="'heard' is none of read, recalled, worked"):
        list(cases(tmp_path))


def test_a_figure_that_should_be_refused_and_comes_out_would_be_caught(tmp_path: Path) -> None:
    folder = copied(next(case for case in CASES if case.folder.name == "bundles"), tmp_path)
    shutil.copy(HERE / "faa_chapter_11" / "source.toml", tmp_path)
    text = (folder / "inputs.csv").read_text(encoding="utf-8")
    assert "no_9,bundled_a,awg=9;" in text
    (folder / "inputs.csv").write_text(text.replace("awg=9;", "awg=8;"), encoding="utf-8")
    [case] = cases(tmp_path)
    assert [answer.name for answer in ask(case) if answer.share > 1.0] == ["no_9"]


def test_a_figure_that_is_off_would_be_caught(tmp_path: Path) -> None:
    folder = copied(next(case for case in CASES if case.folder.name == "s3_lamps_in_series"), tmp_path)
    shutil.copy(HERE / "hand" / "sneak_circuits" / "source.toml", tmp_path)
    text = (folder / "expected.csv").read_text(encoding="utf-8")
    (folder / "expected.csv").write_text(text.replace("0.4007", "0.4107"), encoding="utf-8")
    [case] = cases(tmp_path)
    assert [answer.name for answer in ask(case) if answer.share > 1.0] == ["amps"]
    (folder / "expected.csv").write_text(text.replace("0.3365", "0.4007"), encoding="utf-8")
    [case] = cases(tmp_path)
    assert [answer.name for answer in ask(case) if answer.rejected] == ["amps"]


def test_the_page_keeps_what_another_program_said() -> None:
    own = Checked("hand/x", "x", "y", 3, "none", 0.5, grade="read", kept_out=2)
    other = Checked("", "random", "simulator-1", 7, "0.1 mV of 1 mV", 0.9)
    first = written_page([own, other], "")
    assert "| x | y | read | 3 | 2 | none | 50% |" in first
    again = written_page([own], first)
    assert again == first
