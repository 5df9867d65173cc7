"""A file is written whole or not at all, whatever stops the writing, and read with a bound."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import pytest

from loomwright.refusals import BadDocument
from loomwright.sheets import one_file
from loomwright.sheets.one_file import lies_there, read_whole, write_whole


def refused(path, data=b"new"):
    with pytest.raises(BadDocument) as refusal:
        write_whole(path, data)
    (problem,) = refusal.value.problems
    assert problem.mend
    return problem.found


def test_a_new_file_has_all_its_bytes_and_nothing_beside_it(tmp_path):
    write_whole(tmp_path / "new" / "deep" / "a.bin", bytes(range(256)))
    assert (tmp_path / "new" / "deep" / "a.bin").read_bytes() == bytes(range(256))
    assert [path.name for path in (tmp_path / "new" / "deep").iterdir()] == ["a.bin"]


def test_a_file_that_is_there_is_replaced_and_keeps_its_rights(tmp_path):
    path = tmp_path / "a.bin"
    path.write_bytes(b"old")
    path.chmod(0o640)
    write_whole(path, b"new")
    assert path.read_bytes() == b"new"
    assert path.stat().st_mode & 0o777 == 0o640


def test_a_new_file_has_the_rights_of_any_other(tmp_path):
    (tmp_path / "other").write_bytes(b"")
    write_whole(tmp_path / "a.bin", b"")
    assert (tmp_path / "a.bin").stat().st_mode == (tmp_path / "other").stat().st_mode


def test_a_link_is_followed(tmp_path):
    (tmp_path / "real").write_bytes(b"old")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    write_whole(tmp_path / "link", b"new")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_bytes() == b"new"


def test_what_is_no_place_for_a_file(tmp_path):
    (tmp_path / "folder").mkdir()
    (tmp_path / "taken").write_bytes(b"x")
    (tmp_path / "round").symlink_to(tmp_path / "round")
    assert refused(tmp_path / "folder").endswith("is a folder")
    assert refused(Path(os.devnull)).endswith("is not a plain file")
    for path in (tmp_path / "taken" / "a", tmp_path / ("n" * 300), tmp_path / "a\0b", tmp_path / "round" / "a"):
        assert refused(path)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["folder", "round", "taken"]


class Cut(BaseException):
    """The power goes."""


STEPS = {"write": "open", "to the disk": "fsync", "rights": "chmod", "name": "replace"}


@pytest.mark.parametrize("is_tidied", [True, False])
@pytest.mark.parametrize("step", STEPS)
def test_stopped_at_any_step_the_old_file_stands(tmp_path, monkeypatch, step, is_tidied):
    path = tmp_path / "a.bin"
    path.write_bytes(b"old")

    def cut(*_arguments, **_named):
        raise Cut

    with monkeypatch.context() as patch:
        if step == "to the disk":
            patch.setattr(one_file.os, "fsync", cut)
        else:
            patch.setattr(Path, STEPS[step], cut)
        if not is_tidied:
            # the power goes: nothing is put in order afterwards
            patch.setattr(Path, "unlink", cut)
        with pytest.raises(Cut):
            write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    left = [other.name for other in tmp_path.iterdir() if other != path]
    assert all(name.startswith(".being-written-") for name in left)
    assert not (is_tidied and left)
    write_whole(path, b"new")
    assert path.read_bytes() == b"new"


def test_stopped_behind_the_last_step_the_new_file_stands(tmp_path, monkeypatch):
    path = tmp_path / "a.bin"
    path.write_bytes(b"old")

    def cut(_folder):
        raise Cut

    monkeypatch.setattr(one_file, "to_disk", cut)
    with suppress(Cut):
        write_whole(path, b"new")
    assert path.read_bytes() == b"new"


def test_half_a_file_on_a_full_disk_leaves_nothing(tmp_path, monkeypatch):
    real = Path.open

    class Full:
        """A file that takes three bytes."""

        def __init__(self, file):
            self.file = file

        def __enter__(self):
            return self

        def __exit__(self, *_):
            self.file.close()

        def write(self, data):
            self.file.write(data[:3])
            raise OSError(28, "No space left on device")

    (tmp_path / "a.bin").write_bytes(b"old")
    with monkeypatch.context() as patch:
        patch.setattr(Path, "open", lambda self, mode="r", **named: Full(real(self, mode, **named)))
        assert "No space left on device" in refused(tmp_path / "new" / "b.bin", b"all of it")
        assert "No space left on device" in refused(tmp_path / "a.bin", b"all of it")
    assert [path.name for path in tmp_path.iterdir()] == ["a.bin"]
    assert (tmp_path / "a.bin").read_bytes() == b"old"


WRITING = """
import sys
from pathlib import Path
from loomwright.sheets.one_file import write_whole
print("ready", flush=True)
while True:
    for letter in b"ab":
        write_whole(Path(sys.argv[1]), bytes([letter]) * 3_000_000)
"""


@pytest.mark.parametrize("after_s", [0.0, 0.011, 0.037, 0.09])
def test_killed_while_it_writes_the_file_is_one_of_the_two(tmp_path, after_s):
    path = tmp_path / "a.bin"
    path.write_bytes(b"a" * 3_000_000)
    with subprocess.Popen([sys.executable, "-c", WRITING, str(path)], stdout=subprocess.PIPE) as running:
        assert running.stdout.readline() == b"ready\n"
        time.sleep(after_s)
        running.kill()
    assert running.returncode == -signal.SIGKILL
    assert path.read_bytes() in (b"a" * 3_000_000, b"b" * 3_000_000)


def test_reading_has_a_bound(tmp_path):
    path = tmp_path / "a.bin"
    path.write_bytes(b"12345")
    assert read_whole(path, most_bytes=5) == b"12345"
    with pytest.raises(BadDocument, match="holds more"):
        read_whole(path, most_bytes=4)


def test_what_is_no_file_to_read(tmp_path):
    for path, words in (
        (tmp_path, "is a folder"),
        (tmp_path / "no", "is not there"),
        (Path(os.devnull), "is not a plain file"),
        (tmp_path / "a\0", "is not there"),
        (tmp_path / ("n" * 300), ""),
    ):
        with pytest.raises(BadDocument) as refusal:
            read_whole(path, most_bytes=5)
        assert words in refusal.value.problems[0].found


def test_a_file_that_may_not_be_read(tmp_path, monkeypatch):
    (tmp_path / "a").write_bytes(b"x")

    def locked(*_arguments):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", locked)
    with pytest.raises(BadDocument, match="Permission denied"):
        read_whole(tmp_path / "a", most_bytes=5)


def test_what_lies_at_a_path(tmp_path):
    (tmp_path / "a").write_bytes(b"x")
    paths = (tmp_path, tmp_path / "a", tmp_path / "b", tmp_path / "a\0", tmp_path / ("n" * 300), Path(os.devnull))
    assert [lies_there(path) for path in paths] == ["folder", "file", "nothing", "nothing", "nothing", "file"]
