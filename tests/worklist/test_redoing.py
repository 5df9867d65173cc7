"""What a change asks of a built loom stands on the list of what is built, and goes as soon as it is done."""

from __future__ import annotations

from collections.abc import Mapping

from loomwright.loom.as_built import as_built
from loomwright.worklist.building import building_things
from loomwright.worklist.thing import Thing, next_of
from tests.worklist.small_day import SMALL_DAY, small_day

WHOLE = ("crimped", "seated", "labelled")


def done(wire: str, *steps: str, end: str = "from", revision: int = 1) -> list[dict[str, str]]:
    """Rows of progress, made from a revision."""
    return [{"wire": wire, "end": "both" if step == "cut" else end, "step": step, "revision": str(revision)}
            for step in steps]  # fmt: skip


def asked(progress: list[dict[str, str]], **wire: str) -> tuple[Thing, ...]:
    """The list of what is built where W3 was built from revision 1, and reads so now."""
    wires: list[Mapping[str, str]] = [
        {**row, **wire} if row["id"] == "W3" else row for row in SMALL_DAY["wires"]
    ]  # fmt: skip
    now = small_day(wires=wires, progress=progress)
    return building_things(now, as_built(now, earlier={1: small_day(), 2: now}))


def left(things: tuple[Thing, ...], wire: str = "W3") -> list[str]:
    """What is not done at the start of a wire, in order."""
    return [one.id for one in things if not one.is_done and not one.offered and one.id.startswith(f"build/{wire}/from")]


def test_an_end_with_another_terminal_is_crimped_anew_and_seated_again_before_anything_else():
    things = asked(done("W3", "cut", *WHOLE), terminal_from="T8")
    assert left(things) == ["build/W3/from/crimped/1", "build/W3/from/seated/1"]
    first = next_of(things)
    assert first.does == "Crimp the start of W3 anew"
    assert dict(first.facts)["why"] == "was crimped with T6, and T8 is asked now: cut it off and crimp anew."
    assert first.cells == {"wire": "W3", "end": "from", "step": "crimped"}
    assert next_of(things, {first.id}).does == "Seat the start of W3 in F1.2"


def test_an_end_crimped_anew_is_out_of_its_place_until_it_is_seated_again():
    progress = done("W3", "cut", *WHOLE) + done("W3", "crimped", revision=2)
    assert left(asked(progress, terminal_from="T8")) == ["build/W3/from/seated/0"]
    assert left(asked(progress + done("W3", "seated", revision=2), terminal_from="T8")) == []


def test_an_end_that_goes_elsewhere_is_taken_out_and_seated_there_and_its_label_follows():
    things = asked(done("W3", "cut", *WHOLE), **{"from": "BAT.+"})
    assert left(things) == ["build/W3/from/seated/1", "build/W3/from/labelled/1"]
    assert next_of(things).does == "Seat the start of W3 in BAT.+"
    assert next_of(things).place == "engine bay"


def test_a_piece_cut_too_short_comes_back_to_be_cut_before_it_is_crimped():
    short = [{**row, "length_mm": "900"} for row in done("W3", "cut")]
    things = asked(short)
    assert next(one for one in things if one.id == "build/W3/both/cut").is_done is False
    assert "build/W3/from/crimped" not in {next_of(things).id, next_of(things, {"build/W4/both/cut"}).id}
    assert next(one for one in asked(done("W3", "cut")) if one.id == "build/W3/both/cut").is_done


def test_a_wire_that_is_too_thin_now_is_built_anew_from_the_cut_on():
    things = asked(done("W3", "cut", *WHOLE), size_mm2="2.5")
    cut = next(one for one in things if one.id == "build/W3/both/cut")
    assert not cut.is_done
    assert left(things) == [f"build/W3/from/{step}" for step in WHOLE]


def test_what_is_as_it_was_built_is_not_asked_again():
    assert left(asked(done("W3", "cut", *WHOLE))) == []
    assert left(asked(done("W3", "cut"), terminal_from="T8")) == [f"build/W3/from/{step}" for step in WHOLE]
