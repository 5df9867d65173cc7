"""The shop's meters stand in one sheet beside the shelf: named, read by hand or by us, refused where they are none."""

from __future__ import annotations

from pathlib import Path
from time import monotonic

import pytest

from loomwright.instruments.hold import hold
from loomwright.instruments.meter import meter_at
from loomwright.instruments.shop_meters import FILE_NAME, MOST_METERS, ShopMeter, drop_meter, keep_meter, shop_meters
from loomwright.refusals import BadDocument, NoAnswer
from loomwright.sheets.opening import open_job
from tests.cli.conftest import ask, job  # noqa: F401
from tests.instruments.socket_meter import meter_on_a_socket
from tests.instruments.test_meter import SHEETS, SIMULATOR, STEADY

TURNED, LETTERED = (f"TCPIP::192.0.2.{k}::5025::SOCKET" for k in (4, 5))
BENCH = ShopMeter(name="bench meter", address=STEADY)


def reading(address: str, measure: str = "volts") -> str:
    """What a meter of the simulator holds."""
    with meter_at(address, measure, visa=SIMULATOR) as meter:
        held = hold(meter.ask, meter.unit, clock=monotonic, wait=lambda _: None)
        meter.check()
    return held.text


def test_meters_are_kept_in_order_and_taken_out_by_name(tmp_path: Path) -> None:
    assert shop_meters(tmp_path) == ()
    other = ShopMeter(name="van meter", address="USB0::0x0001::0x0002::X::INSTR", visa="@ivi")
    keep_meter(tmp_path, BENCH)
    keep_meter(tmp_path, other)
    assert shop_meters(tmp_path) == (BENCH, other)
    moved = ShopMeter(name="Bench meter", address="TCPIP::192.0.2.8::5025::SOCKET")
    keep_meter(tmp_path, moved)
    assert shop_meters(tmp_path) == (other, moved)
    drop_meter(tmp_path, "van meter")
    assert shop_meters(tmp_path) == (moved,)


def test_a_sheet_written_by_hand_is_read(tmp_path: Path) -> None:
    text = f"meter,address,visa\nbench meter,{STEADY},\nsimulated,{STEADY},{SIMULATOR}\n"
    (tmp_path / FILE_NAME).write_text(text, encoding="utf-8-sig")
    assert shop_meters(tmp_path) == (BENCH, ShopMeter(name="simulated", address=STEADY, visa=SIMULATOR))


@pytest.mark.parametrize(
    ("name", "address", "column"),
    [
        ("", STEADY, "meter"),
        ("=cmd()", STEADY, "meter"),
        ("m" * 41, STEADY, "meter"),
        ("bench meter", "192.0.2.7", "address"),
        ("bench meter", "TCPIP::192.0.2.7 ::5025::SOCKET", "address"),
        ("bench meter", "file:///etc/passwd", "address"),
    ],
)
def test_what_is_no_meter_is_refused_at_its_place_and_nothing_is_written(
    tmp_path: Path, name: str, address: str, column: str
) -> None:
    with pytest.raises(BadDocument) as caught:
        keep_meter(tmp_path, ShopMeter(name=name, address=address))
    assert [one.column for one in caught.value.problems] == [column]
    assert not (tmp_path / FILE_NAME).exists()


def test_every_place_of_a_sheet_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    (tmp_path / FILE_NAME).write_text(f"meter,address\na,{STEADY}\nA,nowhere\n", encoding="utf-8")
    with pytest.raises(BadDocument) as caught:
        shop_meters(tmp_path)
    assert [(one.row, one.column) for one in caught.value.problems] == [(3, "address"), (3, "meter")]


def test_more_meters_than_a_shop_has_are_refused(tmp_path: Path) -> None:
    for k in range(MOST_METERS):
        keep_meter(tmp_path, ShopMeter(name=f"meter {k}", address=STEADY))
    with pytest.raises(BadDocument) as caught:
        keep_meter(tmp_path, BENCH)
    assert f"at most {MOST_METERS}" in str(caught.value)
    assert len(shop_meters(tmp_path)) == MOST_METERS


def test_a_meter_that_was_turned_to_another_unit_is_told_once_its_reading_stands() -> None:
    with pytest.raises(NoAnswer) as caught:
        reading(TURNED)
    assert "It shows ohms, not volts" in " ".join(caught.value.reasons)


def test_a_unit_behind_the_figure_is_read_and_held_against_what_was_asked() -> None:
    assert reading(LETTERED) == "12.41"
    with pytest.raises(NoAnswer) as caught:
        reading(LETTERED, "ohms")
    assert "It shows volts, not ohms" in " ".join(caught.value.reasons)


def test_a_meter_that_does_not_say_what_it_is_set_to_is_believed() -> None:
    assert reading(STEADY) == "12.41"


def test_what_the_standard_calls_no_figure_is_not_taken_for_open() -> None:
    with (
        meter_on_a_socket(["9.91E37"], "hangs") as address,
        meter_at(address, "ohms", patience_s=0.3) as meter,
        pytest.raises(NoAnswer) as caught,
    ):
        meter.ask()
    assert "it has no figure" in str(caught.value)


def test_a_command_reads_a_meter_of_the_shop_by_its_name(ask, job, tmp_path: Path) -> None:  # noqa: F811
    (tmp_path / FILE_NAME).write_text(f"meter,address,visa\nbench meter,{STEADY},{SIMULATOR}\n", encoding="utf-8")
    folder = job(SHEETS)
    told = ask("read", folder, "LB.1", "--from", "Bench meter", "--shelf", str(tmp_path))
    assert told.code == 0
    last = open_job(folder).readings[-1]
    assert (last.value, last.instrument) == (12.41, "Bench six digits")
    told = ask("read", folder, "LB.1", "--from", "van meter", "--shelf", str(tmp_path))
    assert told.code == 2
    assert "a meter of the shop: bench meter" in told.err


def test_a_command_too_writes_nothing_of_a_meter_that_shows_another_unit(ask, job) -> None:  # noqa: F811
    folder = job(SHEETS)
    told = ask("read", folder, "LB.1", "--from", TURNED, "--visa", SIMULATOR, "--state", "")
    assert told.code == 2
    assert "It shows ohms, not volts" in told.err
    assert open_job(folder).readings == ()
