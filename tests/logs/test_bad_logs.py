"""Logs that come spoilt are recognised, told in the judgement and by the command, and nothing of it is averaged in."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from loomwright.cli.main import main
from loomwright.exchange.log_file import open_log
from loomwright.logs.judged import judged
from loomwright.logs.mapping import Mapped
from tests.logs.bad_logs import BAD, sound


@pytest.fixture(scope="module")
def job(tmp_path_factory) -> Path:
    """A job with a battery alone."""
    folder = tmp_path_factory.mktemp("job")
    (folder / "parts.csv").write_text("id,kind\nBAT,battery\n", encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def intervals(tmp_path_factory) -> dict[tuple[float, float], tuple[float, float]]:
    """What each cell's interval is in the sound drive, which tells nothing wrong."""
    path = tmp_path_factory.mktemp("sound") / "sound.csv"
    sound().write_csv(path)
    drive = judged(open_log(path), Mapped())
    assert drive.findings == () == drive.says
    return {(one.rpm, one.load): (one.low, one.high) for one in drive.mixture.cells if one.factor is not None}


@pytest.mark.parametrize("name", BAD)
def test_a_spoilt_log_is_told_and_nothing_of_it_is_averaged_in(name, job, intervals, tmp_path, capsys):
    bad = BAD[name]
    path = tmp_path / "spoilt.csv"
    path.write_text(bad.text(), encoding="utf-8")
    main(["log", str(path), str(job), "--json"])
    answer = json.loads(capsys.readouterr().out)
    assert {one["rule"] for one in answer["findings"]} == bad.rules, "no fault is invented"
    said = "\n".join([*answer["says"], *(one["says"] for one in answer["findings"])])
    for words in bad.told:
        assert words in said
    told = [one for one in answer["mixture"]["cells"] if one["factor"] is not None]
    assert len(told) >= 3
    for one in told:  # the want built in is nought everywhere
        assert one["low"] - 0.002 <= 1.0 <= one["high"] + 0.002
        low, high = intervals.get((one["rpm"], one["load"]), (1.0, 1.0))
        assert low - 0.005 <= one["factor"] <= high + 0.005


def test_the_command_tells_it_in_words(job, tmp_path, capsys):
    path = tmp_path / "spoilt.csv"
    path.write_text(BAD["two logs glued"].text(), encoding="utf-8")
    main(["log", str(path), str(job)])
    out = " ".join(capsys.readouterr().out.split())
    for words in BAD["two logs glued"].told:
        assert words in out
    assert out.startswith("8 min 0 s were read")
