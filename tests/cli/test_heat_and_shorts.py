"""`loomwright heat`, `faults`, `place`, `compare`: words, JSON, exit codes, and what is refused."""

from __future__ import annotations

import pytest

from tests.handover.van import changed


def test_heat_tells_each_wire_alone_and_among_others(ask, job):
    told = ask("heat", job(), "--state", "key=run, lights=on, brake=on", "--json")
    assert told.code == 0
    wires = told.plain["wires"]
    carrying = {name: one for name, one in wires.items() if one["amps"] > 0.5}
    assert carrying
    for one in carrying.values():
        assert one["copper_c"] >= one["alone_c"] >= one["ambient_c"]
        assert one["copper_c"] == max([one["alone_c"], *one["runs"].values()])


def test_heat_after_a_time_lies_between_the_air_and_where_it_settles(ask, job):
    told = ask("heat", job(), "--state", "key=run", "--after", "20", "--json")
    for one in told.plain["wires"].values():
        assert one["ambient_c"] - 0.1 <= one["after_c"] <= one["alone_c"] + 0.1


def test_heat_of_a_current_that_comes_and_goes_peaks_between_its_mean_and_where_it_settles(ask, job):
    thin = job(changed("wires", "W1", size_mm2="0.35", length_mm="500", ohm_per_m=""))
    words = ("heat", thin, "W1", "--state", "key=run, lights=on, brake=on", "--json")
    steady = ask(*words).plain["wires"]["W1"]
    cool, warm = (ask(*words, "--on", on, "--off", "40").plain["wires"]["W1"]["peak_c"] for on in ("5", "60"))
    assert steady["ambient_c"] < cool < warm < steady["alone_c"]
    assert steady["peak_c"] is None


def test_wire_that_is_too_hot_leaves_with_one_and_a_mend(ask, job):
    # a battery lead of 0.35 mm2 cannot carry the lamps in air of 104 degC
    sheets = changed("wires", "W1", size_mm2="0.35", length_mm="500", ohm_per_m="")
    for row in sheets["places"]:
        row["ambient_c"] = "104"
    told = ask("heat", job(sheets), "--state", "key=run, lights=on, brake=on")
    assert told.code == 1
    assert "FAULT   W1" in told.out
    assert "Thicker wire, another run" in told.out


@pytest.mark.parametrize(
    "words",
    [
        ("--after", "0"),
        ("--after", "-5"),
        ("--on", "5"),
        ("--on", "0", "--off", "5"),
        ("--on", "5", "--off", "-1"),
        ("--altitude", "90000"),
        ("W_NOT_THERE",),
        ("--state", "key=sideways"),
    ],
)
def test_heat_refuses_what_no_method_covers(ask, job, words):
    assert ask("heat", job(), *words, "--json").refused


def test_faults_tells_each_end_and_what_no_fuse_ends(ask, job):
    told = ask("faults", job(), "--json")
    plain = told.plain
    assert set(plain) == {"wires", "verdicts", "unfused_mm", "says"}
    assert sum(plain["verdicts"].values()) == len(plain["wires"])
    assert set(plain["verdicts"]) <= set(plain["says"])
    opening = [end for one in plain["wires"].values() for end in one["shorts"] if end["verdict"] == "opens"]
    assert opening
    assert all(end["amps"] > 0.0 and end["peak_c"] <= end["stands_c"] for end in opening)
    assert told.code == (1 if "harmed" in plain["verdicts"] else 0)


def test_a_wire_that_melts_is_told_no_temperature(ask, job):
    # nothing opens before the first fuse, so that the copper there goes on to its melting point
    folder = job()
    told, plain = ask("faults", folder), ask("faults", folder, "--json").plain["wires"]
    molten = {name for name, one in plain.items() if any(end["melts"] for end in one["shorts"])}
    assert molten >= {name for name, one in plain.items() if one["verdict"] == "unfused"} != set()
    rows = [line for line in told.out.splitlines() if line.split()[:1] and line.split()[0] in molten]
    assert rows
    assert all("melts" in line for line in rows if "unfused" in line)
    assert not any(f"{hot} °C" in told.out for hot in (1083, 1085, 1090))
    opening = [end for one in plain.values() for end in one["shorts"] if end["verdict"] == "opens"]
    assert not any(end["melts"] for end in opening)


def test_what_no_fuse_ends_melts_a_thin_wire_or_makes_it_hot(ask, job):
    sheets = changed("parts", "F2", settings="rating_a=40")
    for wire in sheets["wires"]:
        wire |= {"size_mm2": "0.35"} if wire["from"] == "F2.2" else {"size_mm2": "1"} if wire["from"] == "F1.2" else {}
    folder = job(sheets)
    plain = ask("faults", folder, "--json").plain["wires"]
    left = {name: one["left_over"] for name, one in plain.items() if one["left_over"]}
    # 54 A through 0.35 mm2 by the square law are far beyond copper; 13.5 A through 1 mm2 are not
    assert {one["melts"] for one in left.values() if one["fuse"] == "F2" and one["steady_c"] == 1083.0} == {True}
    assert {one["melts"] for one in left.values() if one["fuse"] == "F1"} == {False}
    out = " ".join(ask("faults", folder).out.split())
    assert "54 A need never blow F2 and melt it, its insulation stands 105 °C;" in out
    assert "1090 °C" not in out


def test_faults_of_one_wire_and_of_one_that_is_not_there(ask, job):
    folder = job()
    name = next(iter(ask("faults", folder, "--json").plain["wires"]))
    assert list(ask("faults", folder, name, "--json").plain["wires"]) == [name]
    assert ask("faults", folder, "W_NOT_THERE", "--json").refused


def test_place_refuses_a_part_and_a_place_that_are_not_there(ask, job):
    assert ask("place", job(), "NOBODY", "--at", "nowhere", "--json").refused


def test_compare_holds_two_jobs_side_by_side(ask, job):
    folder = job()
    told = ask("compare", folder, folder, "--json")
    one, other = told.plain["compared"]
    assert {key: value for key, value in one.items() if key != "name"} == {
        key: value for key, value in other.items() if key != "name"
    }
    assert one["copper_g"] > 0.0
