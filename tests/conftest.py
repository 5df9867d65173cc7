"""What every test may ask for: outside programs, and the rule that in CI none of them may be missing.

A test that needs a program of the machine takes its fixture (`ngspice`), which gives the path of the executable. Where
`CI` is set, a missing program fails the test; elsewhere the test is skipped and the end of the run lists what was not
tested. `LOOMWRIGHT_WITHOUT` (names separated by spaces) makes a program count as missing, for trying this out.
"""

from __future__ import annotations

import gc
import os
import shutil
from pathlib import Path

import pytest
from hypothesis import settings

PROGRAMS = {"ngspice": "the solver beside an outside one", "chromium": "the pages in a browser"}

_MISSING = "{} is not on this machine"

# while tests are read in nothing becomes waste, and looking for waste took a fifth of the time
gc.disable()

settings.register_profile("plain", deadline=None, print_blob=True)
settings.register_profile("ci", parent=settings.get_profile("plain"), derandomize=True)


LONGEST = (
    "pages/test_axe.py",
    "trials/one_row/test_one_row.py",
    "pages/test_whole_job.py",
    "states/test_brute_force.py",
    "examples/test_findings_of_examples.py",
    "pages/test_grid_two_people.py",
    "pages/test_grid_notes.py",
    "pages/test_grid_keys.py",
    "sizing/test_tolerance.py",
    "pages/test_killed_while_serving.py",
    "outside/ngspice/test_demo_car.py",
    "outside/ngspice/test_every_network.py",
    "proving/test_locate.py",
    "allocation/test_engine.py",
    "brief/test_made_on_the_network.py",
    "cli/test_demo.py",
    "pages/test_under_dash_day.py",
    "pages/test_http_interface.py",
    "pages/doors/test_pairing_browser.py",
)
"""Files that take longest go first, so that two processes end together; all others follow in their own order."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Puts the longest files first."""
    here = Path(__file__).parent
    rank = {here / name: place for place, name in enumerate(LONGEST)}
    items.sort(key=lambda item: rank.get(item.path, len(LONGEST)))


def pytest_collection_finish() -> None:
    """Looks for waste again, in what the tests make and not in what they were read into."""
    gc.freeze()
    gc.enable()


def in_ci() -> bool:
    """Whether this run is one that may leave nothing out."""
    return os.environ.get("CI", "").lower() not in ("", "0", "false", "no")


settings.load_profile("ci" if in_ci() else "plain")


def program(name: str) -> str | None:
    """The path of an outside program, or None where the machine has none."""
    if name in os.environ.get("LOOMWRIGHT_WITHOUT", "").split():
        return None
    return shutil.which(name)


def needed(name: str) -> str:
    """The path of an outside program; where it is missing the test fails in CI and is skipped elsewhere."""
    path = program(name)
    if path is not None:
        return path
    if in_ci():
        pytest.fail(f"{name} is not on this machine, and in CI nothing may be left out", pytrace=False)
    pytest.skip(_MISSING.format(name))


@pytest.fixture
def ngspice() -> str:
    """The path of the circuit simulator that the solver is compared with."""
    return needed("ngspice")


@pytest.fixture(scope="session")
def chromium() -> str:
    """The path of the browser that the pages are opened in."""
    return needed("chromium")


@pytest.fixture(scope="session")
def root() -> Path:
    """The top folder of the checkout."""
    return Path(__file__).parent.parent


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Lists, at the very end, what this machine could not test."""
    skipped = terminalreporter.stats.get("skipped", [])
    missing = {
        name: found
        for name in PROGRAMS
        if (found := [report.nodeid for report in skipped if _MISSING.format(name) in str(report.longrepr)])
    }
    if not missing:
        return
    terminalreporter.section("not tested on this machine")
    for name, tests in sorted(missing.items()):
        what = PROGRAMS.get(name, "")
        terminalreporter.write_line(f"{name} is missing ({what}): {len(tests)} tests were left out")
        for test in tests:
            terminalreporter.write_line(f"    {test}")
