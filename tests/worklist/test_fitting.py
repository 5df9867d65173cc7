"""Grommet before clips, clips counted along the run, earths with their metal; each stands on record as a gate."""

from __future__ import annotations

from loomwright.routes.wire_routes import wire_routes
from loomwright.tables.kinds import load_kinds
from loomwright.worklist.fitting import fitting_things
from tests.worklist.small_day import small_day


def things(**more):
    job = small_day(**more)
    return fitting_things(job, wire_routes(job, load_kinds()))


def test_the_loom_is_drawn_through_its_grommet_before_it_is_held():
    names = [one.id for one in things()]
    assert names.index("fit/grommet/R1") < names.index("fit/clip/R1/1")


def test_clips_are_counted_along_the_run_and_told_from_where():
    clips = [one for one in things() if one.id.startswith("fit/clip/R1/")]
    assert [one.does for one in clips] == ["Clip 1 of 3 along R1", "Clip 2 of 3 along R1", "Clip 3 of 3 along R1"]
    assert dict(clips[1].facts)["about"] == "350 mm from engine bay"  # the middle of 700 mm


def test_a_run_that_no_wire_follows_has_nothing_to_fit():
    assert not any("R9" in one.id for one in things())


def test_what_can_hurt_there_is_told_at_the_step():
    grommet = next(one for one in things() if one.id == "fit/grommet/R1")
    assert any("Sharp edges" in says for says in grommet.cautions)
    assert any("drill" in says for says in grommet.cautions)


def test_an_earth_names_its_metal_its_wires_and_where_its_picture_goes():
    earth = next(one for one in things() if one.id == "fit/earth/E1")
    assert (earth.there, dict(earth.facts)["wires"], earth.photo) == ("body", "W4", ("parts", "E1"))


def test_the_newest_gate_says_whether_it_is_fitted():
    gate = {"gate": "fit/earth/E1", "stage": "loom", "verdict": "passed"}
    assert next(one for one in things(gates=[gate]) if one.id == "fit/earth/E1").is_done
    loose = {**gate, "verdict": "failed"}
    assert not next(one for one in things(gates=[gate, loose]) if one.id == "fit/earth/E1").is_done
