"""A bare machine gets there: locked packages with hashes and no hosts, one door to CI, nothing left out there."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from tests.shape.source import ROOT

_PIN = re.compile(r"^([A-Za-z0-9._-]+)==(\S+)", re.MULTILINE)


def pins(text: str) -> dict[str, str]:
    """The locked packages: name -> version."""
    return {name.lower().replace("_", "-"): version for name, version in _PIN.findall(text)}


def unhashed(text: str) -> list[str]:
    """The locked packages without a hash."""
    blocks = re.split(r"^(?=[A-Za-z0-9])", text, flags=re.MULTILINE)
    return [block.split("==")[0] for block in blocks if "==" in block and "--hash=sha256:" not in block]


def test_every_locked_package_has_a_hash_and_none_a_host():
    for name in ("requirements.lock", "requirements-dev.lock"):
        text = (ROOT / name).read_text(encoding="utf-8")
        assert pins(text), name
        assert unhashed(text) == [], name
        assert "://" not in text, name


def test_a_package_without_a_hash_would_be_caught():
    assert unhashed("a==1 \\\n    --hash=sha256:00\nb==2\n") == ["b"]


def test_the_locks_hold_what_the_package_asks_for_and_agree():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    run = pins((ROOT / "requirements.lock").read_text(encoding="utf-8"))
    dev = pins((ROOT / "requirements-dev.lock").read_text(encoding="utf-8"))
    name = re.compile(r"^[A-Za-z0-9._-]+")
    assert {name.match(line).group(0) for line in project["dependencies"]} <= set(run)
    assert {name.match(line).group(0) for line in project["optional-dependencies"]["dev"]} <= set(dev)
    assert run.items() <= dev.items()


def test_ci_runs_the_tests_and_nothing_else():
    lines = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    commands = [line for line in lines if line.strip() and not line.startswith("#")]
    assert [line for line in commands if "make" in line] == ["CI=1 make test"]
    assert all(line.startswith(("CI=1 make test", "set -", "cd ")) for line in commands)


INSIDE = "def test_beside(ngspice):\n    assert ngspice\n"


def run_inside(folder: Path, *, ci: str, without: str) -> subprocess.CompletedProcess[str]:
    """One run of pytest over a test that needs an outside program, in a folder of its own."""
    (folder / "test_inside.py").write_text(INSIDE, encoding="utf-8")
    shutil.copy(ROOT / "tests" / "conftest.py", folder / "conftest.py")
    environment = {**os.environ, "CI": ci, "LOOMWRIGHT_WITHOUT": without}
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "--rootdir", str(folder), str(folder)]
    return subprocess.run(command, env=environment, cwd=folder, capture_output=True, text=True, check=False)


def test_a_missing_program_fails_in_ci(tmp_path):
    ran = run_inside(tmp_path, ci="1", without="ngspice")
    assert ran.returncode == 1, ran.stdout
    assert "ngspice is not on this machine, and in CI nothing may be left out" in ran.stdout


@pytest.mark.parametrize("ci", ["", "0", "false"])
def test_elsewhere_it_is_left_out_and_listed(tmp_path, ci):
    ran = run_inside(tmp_path, ci=ci, without="ngspice")
    assert ran.returncode == 0, ran.stdout
    assert "1 skipped" in ran.stdout
    assert "ngspice is missing (the solver beside an outside one): 1 tests were left out" in ran.stdout
    assert "test_inside.py::test_beside" in ran.stdout
