"""A starter's solenoid lets go with the key, though its main contact feeds the pull winding backwards."""

from __future__ import annotations

import pytest

from loomwright.job.job import Job
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network
from loomwright.network.solve import Solved, solve
from loomwright.tables.kinds import load_kinds
from tests.states.small_jobs import car, wire


def with_starter(live: str, earthed: str, earth: str, internal_ohm: str = "0.008") -> Job:
    """A small car with a starter straight on the key."""
    return car(
        parts=[{"id": "STA", "kind": "starter"}],
        wires=[wire("S1", f"BAT.{live}", "STA.30", "35"), wire("S2", "KEY.50", "STA.50", "4")],
        changed={
            "BAT": {"settings": f"internal_ohm={internal_ohm}"},
            "W1": {"from": f"BAT.{earthed}"},
            "W3": {"from": f"BAT.{live}"},
            "F1": {"settings": "rating_a=40"},
        },
        vehicle=[{"name": "earth", "value": earth}],
    )


def solved(job: Job, key: str, before: str | None = None) -> Solved:
    """The car with the key there, and where it came from."""
    compiled = compile_network(build_network(job, load_kinds()))
    return solve(compiled, {"key": key}, None if before is None else {"key": before})


@pytest.mark.parametrize(("live", "earthed", "earth"), [("+", "-", "negative"), ("-", "+", "positive")])
def test_the_solenoid_goes_in_with_the_key_and_out_with_it(live, earthed, earth):
    job = with_starter(live, earthed, earth)
    assert solved(job, "start").relays["STA"] == "pulled"
    after = solved(job, "run", "start")
    assert after.relays["STA"] == "released"
    assert after.amps["STA.motor"] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("internal_ohm", ["0.008", "0.03", "0.06"])
def test_it_lets_go_with_few_volts_left_as_with_many(internal_ohm):
    # both windings carry the same amps then, one way and the other, whatever the battery still gives
    job = with_starter("+", "-", "negative", internal_ohm)
    held = solved(job, "start")
    assert held.relays["STA"] == "pulled"
    assert held.amps["STA.hold"] > 3.0  # 3 V across 1 ohm is where the hold winding alone lets go
    after = solved(job, "run", "start")
    assert after.relays["STA"] == "released"
    assert after.amps["STA.motor"] == pytest.approx(0.0, abs=1e-6)
