"""The words of `loomwright serve --lan` and `loomwright devices`."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from pathlib import Path

import pytest

from loomwright.cli.devices import add_arguments, run
from loomwright.cli.lan_names import lan_names
from loomwright.cli.serve import add_serving
from loomwright.cli.serve_lan import Opening, opening_of, show_opening
from loomwright.cli.square_text import square_text
from loomwright.drawings.square_code import square_code
from loomwright.pages.doors.origins import LOOPBACK
from loomwright.refusals import BadDocument
from loomwright.store.devices import Devices


def opened(folder: Path, *words: str) -> Opening:
    parser = ArgumentParser()
    add_serving(parser)
    return opening_of(parser.parse_args(words), folder, 8140, "sam")


def test_without_lan_nobody_else_is_let_in(tmp_path):
    opening = opened(tmp_path)
    assert opening.doorway.lan is None
    assert opening.doorway.names == LOOPBACK
    assert opening.as_plain() == {"address": "http://127.0.0.1:8140/"}
    assert list(tmp_path.iterdir()) == []


def test_with_lan_the_addresses_and_a_code_are_told(tmp_path, capsys):
    opening = opened(tmp_path, "--lan", "--name", "Bench.local", "--pair-as", "look")
    told = opening.as_plain()
    assert told["addresses"][0] == "http://bench.local:8140/"
    assert told["role"] == "look"
    assert opening.doorway.lan is not None
    assert opening.doorway.lan.pairing.use(str(told["code"]), "a").role == "look"
    assert set(opening.doorway.names) >= {*lan_names(), "bench.local"}
    show_opening(opening)
    shown = capsys.readouterr().out
    assert opening.code in shown
    assert "look only, once within 5 minutes" in shown
    assert "▀" in shown
    opening.close()


def test_without_tls_it_is_said_what_that_means(tmp_path, capsys):
    opening = opened(tmp_path, "--lan")
    show_opening(opening)
    assert "Without TLS whoever listens in the shop's network reads along" in capsys.readouterr().out
    opening.close()


def test_over_tls_the_fingerprint_is_told(tmp_path, capsys):
    opening = opened(tmp_path, "--lan", "--tls-made")
    assert opening.certificate is not None
    show_opening(opening)
    assert opening.certificate.fingerprint in capsys.readouterr().out
    assert opening.address == "https://127.0.0.1:8140/"
    assert opening.doorway.lan is not None
    assert opening.doorway.lan.is_secure
    assert not opening.doorway.lan.has_own_name
    opening.close()


@pytest.mark.parametrize(
    "words",
    [
        ("--tls-made",),
        ("--name", "x"),
        ("--lan", "--tls-cert", "x.pem"),
        ("--lan", "--tls-made", "--tls-cert", "x.pem"),
        ("--lan", "--tls-cert", "x.pem", "--tls-key", "y.pem"),
        ("--lan", "--name", "http://x/"),
        ("--lan", "--session-hours", "0"),
        ("--lan", "--session-hours", "721"),
    ],
)
def test_words_that_do_not_go_together_are_told(tmp_path, words):
    with pytest.raises(BadDocument):
        opened(tmp_path, *words)


def test_the_square_on_a_terminal_holds_every_square():
    rows = square_code("http://192.168.1.20:8140/pair#K7QM3XWP")
    lines = square_text(rows, in_colours=False)
    side = len(rows) + 8
    dark = [[lines[y // 2][x] in ("█", "▀" if y % 2 == 0 else "▄") for x in range(side)] for y in range(side)]
    assert [row[4:-4] for row in dark[4:-4]] == [list(row) for row in rows]
    assert not any(map(any, dark[:4]))
    assert not any(map(any, dark[-4:]))


def asked(folder: Path, *words: str) -> int:
    parser = ArgumentParser()
    add_arguments(parser)
    return run(parser.parse_args(["--shelf", str(folder), *words]))


def test_devices_are_listed_given_a_role_and_let_go(tmp_path, capsys):
    assert asked(tmp_path) == 0
    assert "No device is let in" in capsys.readouterr().out
    devices = Devices(tmp_path, lambda: 4_000_000_000.0)
    devices.add("tablet", "bench", digest=b"x", lasts_s=1000.0)
    devices.close()
    assert asked(tmp_path, "--as", "Tablet", "look", "--json") == 0
    assert [(one["name"], one["role"]) for one in json.loads(capsys.readouterr().out)] == [("tablet", "look")]
    assert asked(tmp_path, "--let-go", "tablet") == 0
    assert "No device is let in" in capsys.readouterr().out
    with pytest.raises(BadDocument, match="none is let in"):
        asked(tmp_path, "--let-go", "tablet")
