"""A gearbox that cannot be: a sentence with its mend, from the command and on the page alike."""

from __future__ import annotations

from contextlib import closing

import pytest

from loomwright.pages import gear_work
from tests.pages.quiet import quiet_client
from tests.pages.shelves import Page, shelf_in
from tests.pages.test_gears_page import WITH_GEARBOX, settled

HOLE = "[[800, 165], [2000, 220], [6000, 180]]"
FIRST = "[2.9, 3, 3, 3, 3, 3, 3, 3, 3, 3, 40]"


def rows(name: str, value: str) -> dict[str, list[dict[str, str]]]:
    """The small car with one row of its gearbox changed, or added."""
    kept = [dict(row) for row in WITH_GEARBOX["vehicle"] if row["name"] != name]
    return {**WITH_GEARBOX, "vehicle": [*kept, {"name": name, "value": value}]}


@pytest.mark.parametrize(
    ("name", "value", "says"),
    [
        ("gear.ratios", "[2.4, 0, 1.0]", "0 as number 2"),
        ("gear.tyre", "205-55-16", "205/55R16"),
        ("gear.tyre", "the usual ones", "205/65R15"),
        ("gear.engine.torque", HOLE, "nothing between 2000 and 6000"),
    ],
)
def test_what_cannot_be_is_told_with_its_mend_by_command_and_page(ask, job, tmp_path, name, value, says):
    [told] = ask("gears", job(rows(name, value)), "--check", "--json").refused
    assert told["column"] == name
    assert says in " ".join(str(one) for one in told.values())
    assert told["mend"]
    with closing(shelf_in(tmp_path, own=rows(name, value))) as shelf:
        seen = quiet_client(shelf).get("/j/own/gears")
        assert seen.status_code >= 400
        assert says in Page(seen.text).words


def test_crossed_lines_and_no_first_gear_are_found_by_command_and_page(ask, job, tmp_path, monkeypatch):
    folder = job(WITH_GEARBOX)
    text = ask("gears", folder, "--programme", "normal").out
    heading = text[text.index("line,km/h") :]
    lines = {row.split(",")[0]: row.split(",")[2:] for row in heading.splitlines() if row.startswith(("up", "down"))}
    crossed = heading.replace(",".join(lines["down 2-1"]), ",".join(lines["up 1-2"]))
    crossed = crossed.replace(",".join(lines["up 2-3"]), ",".join(lines["up 1-2"]))
    file = tmp_path / "lines.csv"
    file.write_text(crossed, encoding="utf-8")
    found = ask("gears", folder, "--programme", "normal", "--lines", file, "--check", "--json")
    assert found.code == 1
    assert {"GEA-1", "GEA-2"} <= {one["rule"] for one in found.plain["findings"] if one["severity"] == "fault"}
    file.write_text(heading.replace(f"up 1-2,,{lines['up 1-2'][0]}", "up 1-2,,2.0"), encoding="utf-8")
    none = ask("gears", folder, "--programme", "normal", "--lines", file, "--check")
    assert "no first gear" in none.out
    monkeypatch.setattr(gear_work, "worked_apart", lambda what, work, given, tell: work(*given, tell))
    with closing(shelf_in(tmp_path, own=WITH_GEARBOX)) as shelf:
        client = quiet_client(shelf)
        page = settled(client, "/j/own/gears")
        inputs = [at for tag, at in page.elements if tag == "input" and {"name", "value"} <= set(at)]
        named = {at["name"]: at["value"] for at in inputs}
        first = next(name for name in named if name.startswith("up 1-2"))
        typed = {**named, first: "2.0", "programme": "normal"}
        assert "no first gear" in Page(client.post("/j/own/gears/look", data=typed).text).words
