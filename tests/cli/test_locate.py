"""`locate`: volts, drops, clamps and things taken off, as they are typed; what cannot be meant is refused."""

from __future__ import annotations

import pytest

from tests.cli.test_prove import SHEETS

LIT = ("--state", "SW=on")


def likeliest(answer) -> list[str]:
    """What the first group of faults names."""
    return answer.plain["suspects"][0]["at"]


def test_volts_before_the_fuse_and_none_behind_it_are_the_fuse(ask, job) -> None:
    read = ("--read", "F1.1=12.4", "--read", "F1.2=0", *LIT)
    named = likeliest(ask("locate", job(SHEETS), *read, "--json"))
    assert named[0] == "F1", named
    assert {name.split(".")[0] for name in named} <= {"F1", "W2", "W3", "SW", "LB"}, "or what blew it, behind it"


def test_a_drop_is_typed_with_a_colon_and_finds_the_wire_it_lies_along(ask, job) -> None:
    read = ("--read", "LB.1=6.5", "--read", "SW.2:LB.1=5.9", *LIT)
    folder = job(SHEETS)
    assert "W3 has gone high in resistance" in ask("locate", folder, *read).out
    assert likeliest(ask("locate", folder, *read, "--json")) == ["W3"]


def test_a_clamp_is_typed_in_amps_and_says_that_the_lamp_is_burnt_out(ask, job) -> None:
    read = ("--read", "LB.1=12.4", "--read", "LB.2=0", "--read", "W3=0A", *LIT)
    assert "LB" in likeliest(ask("locate", job(SHEETS), *read, "--json"))


def test_amps_that_go_in_and_do_not_come_out_are_the_wire_that_touches(ask, job) -> None:
    folder = job(SHEETS)
    for out, is_it in (("0 A", True), ("1.8 A", False)):
        read = ("--read", "W1/lamp=1.8 A", "--read", f"W1:F1.1/lamp={out}")
        named = likeliest(ask("locate", folder, *read, "--json"))
        assert (named == ["W1"]) is is_it, named


def test_all_wires_of_a_terminal_go_into_one_clamp(ask, job) -> None:
    named = likeliest(ask("locate", job(SHEETS), "--read", "E1.1/lamp=1.8 A", "--json"))
    assert named == ["W4"], "1.8 A into that bolt at rest: its wire touches a live one"


def test_off_at_one_end_it_still_touches_off_at_the_other_it_does_not(ask, job) -> None:
    folder = job(SHEETS)
    on = ("--read", "W5/lamp=1.8 A", "--read", "W5/W4 lamp=1.8 A")
    for amps, is_it in (("0 A", True), ("1.8 A", False)):
        plain = ask("locate", folder, *on, "--read", f"W5/W4:E1.1 lamp={amps}", "--json").plain
        odds = sum(one["probability"] for one in plain["suspects"] if one["at"] == ["W4"])
        assert (odds > 0.9) is is_it, plain["suspects"][:3]


def test_what_is_asked_for_can_be_typed_as_it_stands(ask, job) -> None:
    folder = job(SHEETS)
    plain = ask("locate", folder, "--read", "BAT.+=11.0", "--json").plain
    assert plain["next"]["off"][:1] == ["lamp"], "a short ahead of the fuse may burn its wire"
    asked = plain["next"]
    after = f"{':'.join(filter(None, (asked['point'], asked['to'])))}/{' '.join(asked['off'])}"
    unit = "A" if asked["measure"] == "clamp" else ""
    told = ask("locate", folder, "--read", "BAT.+=11.0", "--read", f"{after}=0{unit}", "--json")
    assert told.code == 0
    told = ask("locate", folder, "--read", "BAT.+=11.0")
    assert "The lamp goes in first" in told.out
    assert "through a lamp of 21 W" in told.out


@pytest.mark.parametrize(
    ("read", "word"),
    [
        ("W9=1A", "the terminal whose wires were all in it"),
        ("W3:F1.1=1A", "SW.2 or LB.1"),
        ("LB.1/W3:F1.1=1", "W3 ends at SW.2 and at LB.1"),
        ("LB.1/F9=1", "fuses, relays and parts, wires, or lamp"),
        ("LB.1", "POINT=VALUE"),
    ],
)
def test_what_cannot_be_meant_is_refused_with_what_could_be(ask, job, read, word) -> None:
    told = ask("locate", job(SHEETS), "--read", read)
    assert told.code != 0
    assert word in told.err


def test_ohms_are_told_by_their_unit_and_open_by_its_word(ask, job) -> None:
    folder = job(SHEETS)
    assert likeliest(ask("locate", folder, "--read", "SW.2:LB.1=open", "--json")) == ["W3"]
    assert likeliest(ask("locate", folder, "--read", "SW.2:LB.1=0.01 kohm", "--json")) == ["W3"], "high in resistance"
    refused = ask("locate", folder, "--read", "SW.2:LB.1=a few ohm")
    assert refused.code != 0
    assert "a few ohm" in refused.err
