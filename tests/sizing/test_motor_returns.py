"""A motor that is held fast draws what its fuse lets through: its earth wire is asked what its feed is."""

from __future__ import annotations

import pytest

from loomwright.job.points import kinds_of
from loomwright.job.reading import job_from_text
from loomwright.network.build import build_network
from loomwright.network.compiled import compile_network
from loomwright.sizing.fused import fused_of
from loomwright.sizing.motor_returns import motor_returns
from loomwright.sizing.protection import sheet_findings
from loomwright.states.asking.scene import Scene, scene_of
from loomwright.states.paths.conduction import conduction_of
from loomwright.states.ratings.wire_limits import limits_of
from loomwright.tables.kinds import load_kinds
from tests.handover.van import wire


def fan_car(*, earth_mm2="0.5", rating_a="15", held_a="30", kind="fan") -> Scene:
    """A battery, a fuse, a fan behind it, and the fan's earth wire."""
    settings = f"running_a=7; inrush_a={held_a}" if kind == "fan" else ""
    job = job_from_text(
        {
            "parts": [
                {"id": "BAT", "kind": "battery"},
                {"id": "F1", "kind": "fuse", "settings": f"rating_a={rating_a}; family=blade_c"},
                {"id": "M1", "kind": kind, "settings": settings},
            ],
            "wires": [
                wire("W1", "BAT.-", "body", "c", "16"),
                wire("W2", "BAT.+", "F1.1", "c", "2.5", length_mm="200"),
                wire("W3", "F1.2", "M1.+" if kind == "fan" else "M1.1", "c", "2.5"),
                wire("W4", "M1.-" if kind == "fan" else "M1.2", "body", "c", earth_mm2),
            ],
            "circuits": [{"id": "c", "class": "cooling"}],
        }
    )
    kinds = kinds_of(job, load_kinds())
    return scene_of(job, kinds, compile_network(build_network(job, kinds)))


def returns(scene: Scene):
    return motor_returns(scene, fused_of(scene, conduction_of(scene), limits_of(scene)))


def told(scene: Scene) -> list[tuple[str, str, tuple[str, ...]]]:
    found = [one.finding for one in sheet_findings(scene)]
    return [(one.rule, one.severity, one.at) for one in found if one.rule in ("PRO-2", "PRO-4")]


def test_a_fans_earth_wire_thinner_than_its_fuse_allows_is_a_fault():
    """0.5 mm² carries 11 A at most at 20 °C and less in a hot bay; 15 A flow for ever behind a fan that drags."""
    assert returns(fan_car()) == {"W4": ("F1",)}
    assert told(fan_car()) == [("PRO-2", "fault", ("F1", "W4"))]


def test_an_earth_wire_as_thick_as_the_feed_is_no_finding():
    assert told(fan_car(earth_mm2="2.5")) == []


@pytest.mark.parametrize(
    "car",
    [
        {"held_a": "12", "earth_mm2": "1"},  # held fast it draws less than the fuse's rating
        {"kind": "lamp"},  # a lamp limits what flows beyond it, whatever happens to it
    ],
)
def test_what_limits_its_own_current_asks_nothing_of_its_earth(car):
    scene = fan_car(**car)
    assert returns(scene) == {}
    assert told(scene) == []
