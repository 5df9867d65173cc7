"""`loomwright solve --circuits`: the car circuit by circuit."""

from __future__ import annotations

import json

from loomwright.cli.main import main


def test_each_circuit_tells_what_it_draws_and_which_loads_work(capsys):
    assert main(["solve", "tourer", "--state", "key=run, lights=side", "--circuits"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].split()[0].endswith(":")
    assert any(" work: " in line and not line.endswith(" work: -") for line in lines)


def test_as_data_it_is_the_plan_of_the_car(capsys):
    assert main(["solve", "tourer", "--state", "key=run", "--circuits", "--json"]) == 0
    plain = json.loads(capsys.readouterr().out)
    assert plain["state"]["key"] == "run"
    assert {"id", "drawn_a", "loads", "energised"} <= set(plain["circuits"][0])
