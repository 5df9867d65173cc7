"""Measurement files written by another program come in as they are, mixed rates and all."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from asammdf import MDF, Signal

from loomwright.exchange.log_file import open_log
from loomwright.logs.judged import judged, read_drive
from loomwright.logs.mapping import Mapped
from loomwright.refusals import BadDocument, NoAnswer
from tests.logs.drive import Plan, made
from tests.logs.reading import recorded

UNITS = {"RPM": "rpm", "MAP (kPa)": "kPa", "TPS (%)": "%", "CLT (°C)": "°C", "Battery (V)": "V"}
FRAME = made(Plan(seed=5, minutes=3.0))
SLOW = ("CLT (°C)", "Battery (V)")


@pytest.fixture(scope="module")
def path(tmp_path_factory) -> Path:
    """A drive in two groups: fast channels, and slow ones at a tenth of their rate."""
    times = FRAME["Time (s)"].to_numpy()
    whole = tmp_path_factory.mktemp("mdf") / "drive.mf4"
    with MDF(version="4.10") as file:
        for names, step in (([name for name in FRAME.columns[1:] if name not in SLOW], 1), (list(SLOW), 10)):
            signals = [
                Signal(
                    FRAME[name].to_numpy()[::step].astype(np.float64),
                    times[::step],
                    name=name,
                    unit=UNITS.get(name, ""),
                )
                for name in names
            ]
            file.append(signals, common_timebase=True)
        file.save(whole)
    return whole


def test_a_drive_reads_the_same_as_from_its_table(path):
    told, table = judged(open_log(path), Mapped()), judged(recorded(FRAME), Mapped())
    assert told.rows == table.rows
    assert {one.quantity for one in told.channels} == {one.quantity for one in table.channels}
    assert told.findings == table.findings
    assert told.starts[0].crank_s == pytest.approx(table.starts[0].crank_s, abs=0.01)


def test_a_slow_channel_is_held_and_told(path):
    drive, _ = read_drive(open_log(path), Mapped())
    assert any("Battery (V)" in one and "held in between" in one for one in drive.says)
    assert np.isfinite(drive.of["battery"]).mean() > 0.99


def test_half_a_file_and_no_such_file_are_refused(path, tmp_path):
    half = tmp_path / "half.mf4"
    half.write_bytes(path.read_bytes()[: path.stat().st_size // 3])
    text = tmp_path / "text.mf4"
    text.write_text("RPM,MAP\n1,2\n")
    for one in (half, text):
        with pytest.raises((BadDocument, NoAnswer)):
            judged(open_log(one), Mapped())
