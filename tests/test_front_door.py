"""The front door for programs: `lw.open`, `car.rows`, `lw.frame` give what the command line prints as JSON."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest

import loomwright as lw
from loomwright.cli.main import main
from loomwright.refusals import BadDocument
from loomwright.sheets.csv_folder import write_folder
from loomwright.sheets.json_document import write_json
from tests.cli.conftest import put
from tests.handover.van import rows

Row = Mapping[str, Any]
STATE = {"key": "run", "engine": "idle"}
TYPED = "key=run, engine=idle"


def broken_van() -> dict[str, list[dict[str, str]]]:
    """The small van on runs, its brake lamp without an earth, a size and a length left blank."""
    sheets = rows()
    sheets["places"].append({"id": "dash", "zone": "cabin"})
    sheets["runs"] = [
        {"id": "R1", "from": "bay", "to": "rear", "length_mm": "2500", "covering": "tape"},
        {"id": "R2", "from": "bay", "to": "dash", "length_mm": "900"},
    ]
    sheets["wires"] = [row for row in sheets["wires"] if row["id"] != "W13"]
    for part in sheets["parts"]:
        part.setdefault("place", "dash")
    next(row for row in sheets["wires"] if row["id"] == "W6")["size_mm2"] = ""
    next(row for row in sheets["wires"] if row["id"] == "W7")["length_mm"] = ""
    return sheets


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Its sheets, written once."""
    return put(tmp_path_factory.mktemp("front") / "van", broken_van())


@pytest.fixture(scope="module")
def car(folder: Path) -> lw.Car:
    """The car, opened by its folder."""
    return lw.open(folder)


@pytest.fixture
def printed(capsys: pytest.CaptureFixture[str], folder: Path) -> Callable[..., Any]:
    """What a command prints as JSON."""

    def run(command: str, *words: str) -> Any:
        main([command, str(folder), *words, "--json"])
        return json.loads(capsys.readouterr().out)

    return run


def flat(findings: Sequence[Row]) -> list[Row]:
    """Findings as the command prints them, those beneath a root behind it."""
    return [one for finding in findings for one in (finding, *flat(finding["folded"]))]


def test_findings_are_those_of_the_check(car, printed):
    told, found = flat(printed("check")["findings"]), car.rows("findings")
    assert len(found) == len(told) > 3
    for one, row in zip(told, found, strict=True):
        for word in ("rule", "severity", "says", "mend", "found", "allowed", "unit", "source"):
            assert row[word] == one[word]
        assert row["at"].split() == one["at"]
        assert row["touches"].split() == one["touches"]
    assert [row["at"] for row in found if row["rule"] == "NET-1"] == ["BL.2"]


def test_volts_amps_and_relays_are_those_of_solve(car, printed):
    told = printed("solve", "--state", TYPED)
    volts = {row["point"]: row["volts"] for row in car.rows("volts", STATE)}
    amps = {row["element"]: row["amps"] for row in car.rows("amps", STATE)}
    assert volts == pytest.approx(told["volts"], abs=1e-9)
    assert amps == pytest.approx(told["amps"], abs=1e-9)
    assert None in volts.values()
    assert max(amps.values()) > 5.0
    lies = {(row["what"], row["part"]): row["lies"] for row in car.rows("relays", STATE)}
    assert {part: lie for (what, part), lie in lies.items() if what == "relay"} == told["relays"]
    alive = {part: lie == "alive" for (what, part), lie in lies.items() if what == "controller"}
    assert alive == told["alive"]


def test_sizes_and_ratings_are_those_of_size(car, printed):
    told = printed("size")
    sizes = {row["wire"]: row for row in car.rows("sizes")}
    assert set(sizes) == set(told["wires"])
    assert [wire for wire, row in sizes.items() if row["decided_by"] not in ("typed", "cut")] == ["W6"]
    for wire, one in told["wires"].items():
        row = sizes[wire]
        for word in ("size_mm2", "decided_by", "length_mm", "insulation_c", "ambient_c"):
            assert row[word] == one[word], (wire, word)
        assert row["amps"] == pytest.approx(one["amps"], abs=0.0005 + 1e-9)
        assert row["drop_v"] == pytest.approx(one["drop_v"], abs=0.00005 + 1e-9)
        assert row["when"] == ", ".join(f"{name}={value}" for name, value in one["when"].items())
    ratings = {row["fuse"]: row for row in car.rows("ratings")}
    assert {fuse: row["rating_a"] for fuse, row in ratings.items()} == {
        fuse: one["rating_a"] for fuse, one in told["fuses"].items()
    }
    assert {row["decided_by"] for row in ratings.values()} == {one["decided_by"] for one in told["fuses"].values()}


def test_routes_and_bundles_are_those_of_route(car, printed):
    told = printed("route")
    routes = {row["wire"]: row for row in car.rows("routes")}
    assert set(routes) == {*told["wires"], *told["unrouted"]}
    assert len(told["wires"]) > 10
    for wire, one in told["wires"].items():
        row = routes[wire]
        for word in ("length_mm", "by_route_mm", "stands", "along_mm", "near_mm", "ends_mm"):
            assert row[word] == one[word], (wire, word)
        assert row["runs"].split() == one["runs"]
        assert row["places"].split() == one["places"]
    assert routes["W7"]["stands"] == "blank"
    for wire, one in told["unrouted"].items():
        assert (routes[wire]["why"], routes[wire]["mend"]) == (one["why"], one["mend"])
    bundles = {row["run"]: row for row in car.rows("bundles")}
    assert set(bundles) == set(told["runs"]) == {"R1", "R2"}
    for run, one in told["runs"].items():
        assert bundles[run]["conductors"].split() == one["conductors"]
        for word in ("bundle_mm", "bundle_least_mm", "bundle_most_mm"):
            assert bundles[run][word] == pytest.approx(one[word], abs=0.05 + 1e-9)  # printed to a tenth


def test_a_sheet_is_what_was_typed(car):
    typed = {row["id"]: row for row in broken_van()["wires"]}
    for row in car.rows("wires"):
        for heading, text in typed[row["id"]].items():
            value = row[heading]
            assert value is None if text == "" else str(value) == text or value == float(text), (row["id"], heading)


def test_any_container_opens_the_same_car(car, tmp_path):
    write_folder(car.job, tmp_path / "again")
    write_json(car.job, tmp_path / "again.json")
    for name in ("again", "again.json"):
        opened = lw.open(tmp_path / name)
        assert opened.rows("wires") == car.rows("wires")
        assert opened.rows("volts", STATE) == car.rows("volts", STATE)


def test_what_is_no_job_is_refused_with_every_place(tmp_path):
    with pytest.raises(BadDocument, match="nowhere"):
        lw.open(tmp_path / "nowhere")


def test_a_frame_of_rows_keeps_their_figures(car):
    made = lw.frame(car.rows("volts", STATE))
    assert made.columns == ["point", "volts", "floating"]
    assert made.filter(point="FAN.+")["volts"][0] == car.solve(STATE).volts["FAN.+"]


def test_the_package_offers_its_front_door_and_nothing_else():
    assert set(lw.__all__) == {"Car", "__version__", "frame", "open"}
    assert all(hasattr(lw, name) for name in lw.__all__)
    with pytest.raises(AttributeError, match="solve"):
        lw.solve  # noqa: B018


def test_importing_the_package_alone_loads_neither_solver_nor_frames():
    code = "import loomwright, sys; print({'numpy', 'polars', 'numba', 'loomwright.car'} & set(sys.modules) or 'none')"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "none"
