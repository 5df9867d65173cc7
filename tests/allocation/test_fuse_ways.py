"""A fuse for every load: what must not die together hangs apart, and a fuse carries what it can for ever."""

from __future__ import annotations

from dataclasses import replace

from loomwright.allocation.fuse_ways import FuseWays, fused_apart
from loomwright.allocation.other_ways import other_fuses
from loomwright.job.job import Job
from loomwright.job.rows import Circuit, Part, Place, Progress, SwitchContact, Wire
from loomwright.tables.kinds import load_kinds

KINDS = load_kinds()
PLACES = (
    Place(id="box", x_mm=0, y_mm=0, z_mm=700),
    Place(id="nose_left", x_mm=-600, y_mm=-500, z_mm=600),
    Place(id="nose_right", x_mm=-600, y_mm=500, z_mm=600),
)


def box(loads: dict[str, tuple[str, str, str]], fuses: dict[str, tuple[str, str]], **more: object) -> Job:
    """A box of fuses. loads: part -> kind, place, fuse.   fuses: fuse -> point it hangs on, rating."""
    parts = [
        Part(id="BAT", kind="battery"),
        Part(id="KEY", kind="key_switch"),
        Part(id="BUS", kind="busbar", place="box"),
        Part(id="E", kind="earth_point"),
    ]
    wires = [Wire(id="W1", from_="BAT.+", to="BUS.1"), Wire(id="W2", from_="BUS.2", to="KEY.30")]
    for number, (name, (feed, rating)) in enumerate(fuses.items()):
        settings = {"rating_a": rating} if rating else {}
        parts.append(Part(id=name, kind="fuse", place="box", settings=settings))
        wires.append(Wire(id=f"WF{number}", from_=feed, to=f"{name}.1"))
    for name, (kind, place, fuse) in loads.items():
        ends = ("1", "2") if kind == "lamp" else ("+", "-")
        role = "cooling_fan" if kind == "fan" else ""
        parts.append(Part(id=name, kind=kind, place=place, circuit="c", role=role))
        wires.append(Wire(id=f"W_{name}", circuit="c", from_=f"{fuse}.2", to=f"{name}.{ends[0]}"))
        wires.append(Wire(id=f"WE_{name}", circuit="c", from_=f"{name}.{ends[1]}", to="E.1"))
    circuits = (Circuit(id="c", feed=str(more.pop("feed", ""))),)
    return Job(parts=tuple(parts), places=PLACES, circuits=circuits, wires=tuple(wires), **more)  # type: ignore[arg-type]


def answered(job: Job, **amps: float) -> FuseWays:
    """The answer, with an amp where nothing else is named."""
    return fused_apart(job, KINDS, {wire.id: 1.0 for wire in job.wires} | amps)


def fuses_of(answer: FuseWays) -> dict[str, str]:
    """Load -> its fuse."""
    return {load: each.fuse for each in answer.seats for load in each.loads}


def test_a_fuse_hangs_on_the_contact_that_a_way_leads_to() -> None:
    job = box({"L": ("lamp", "box", "F1")}, {"F1": ("BUS.3", "10"), "F2": ("KEY.15", "10"), "F3": ("KEY.75", "10")})
    assert {name: fuse.state for name, fuse in answered(job).fuses.items()} == {"F1": "30", "F2": "15", "F3": "75"}


def test_left_and_right_lamp_do_not_die_together() -> None:
    loads = {"LL": ("lamp", "nose_left", "F1"), "LR": ("lamp", "nose_right", "F1")}
    answer = answered(box(loads, {"F1": ("BUS.3", "10"), "F2": ("BUS.4", "10"), "F3": ("KEY.15", "10")}))
    assert set(fuses_of(answer).values()) == {"F1", "F2"}, "not F3: it hangs on 15"
    assert len(answer.moved) == 1
    assert "left and right lamp" in answer.moved[0].says
    assert answer.proved


def test_two_lamps_of_one_side_may_die_together() -> None:
    loads = {"LL": ("lamp", "nose_left", "F1"), "LM": ("lamp", "nose_left", "F1")}
    assert answered(box(loads, {"F1": ("BUS.3", "10"), "F2": ("BUS.4", "10")})).moved == ()


def test_where_no_fuse_is_free_on_that_contact_a_new_one_is_asked_for() -> None:
    loads = {"P1": ("fuel_pump", "box", "F1"), "P2": ("fuel_pump", "box", "F1")}
    answer = answered(box(loads, {"F1": ("BUS.3", "20"), "F2": ("KEY.15", "20")}))
    assert answer.new == ("new fuse 1 on 30 at box",)
    assert set(fuses_of(answer).values()) == {"F1", "new fuse 1 on 30 at box"}


def test_a_fuse_that_would_carry_too_much_gives_the_least_away() -> None:
    loads = dict.fromkeys(("M1", "M2", "M3"), ("motor", "box", "F1"))
    job = box(loads, {"F1": ("BUS.3", "20"), "F2": ("BUS.4", "20")})
    answer = answered(job, W_M1=6.0, W_M2=6.0, W_M3=6.0)
    assert len(answer.moved) == 1, "15 A for ever is what 20 A carries: two of 6 A"
    assert answered(job, W_M1=5.0, W_M2=5.0, W_M3=5.0).moved == ()


def test_a_load_that_no_fuse_of_its_family_carries_is_left_out_and_it_is_said_why() -> None:
    answer = answered(box({"M": ("motor", "box", "F1")}, {"F1": ("BUS.3", "20")}), W_M=45.0)
    assert answer.status == "does not fit"
    assert "45 A flow" in answer.left_out[0]


def test_loads_that_never_flow_at_once_stay_on_one_fuse() -> None:
    loads = {"M1": ("motor", "box", "F1"), "M2": ("motor", "box", "F1"), "M3": ("motor", "box", "F2")}
    job = box(loads, {"F1": ("BUS.3", "20"), "F2": ("BUS.4", "20")})
    amps = {wire.id: 1.0 for wire in job.wires} | {"W_M1": 9.0, "W_M2": 8.0, "W_M3": 12.0}
    assert len(fused_apart(job, KINDS, amps).moved) == 1, "17 A, were both on at once, of the 15 A it carries"
    answer = fused_apart(job, KINDS, amps, through={"F1": 9.0, "F2": 12.0})
    assert answer.moved == ()
    assert "9 A in all of the 15 A" in answer.seats[0].says
    others = other_fuses(job, KINDS, amps, answer, "W_M3", through={"F1": 9.0, "F2": 12.0})
    assert next((one.name, one.is_possible) for one in others) == ("F1", False), "6 A are left beside them"


def test_one_load_alone_stays_on_its_fuse_up_to_the_rating_and_it_is_told() -> None:
    job = box({"M": ("motor", "box", "F1")}, {"F1": ("BUS.3", "20"), "F2": ("BUS.4", "20")})
    answer = answered(job, W_M=16.0)
    assert (answer.status, answer.moved) == ("fits", ())
    assert any("F1 is rated 20 A and 16 A flow, more than the 15 A it carries for ever" in one for one in answer.notes)


def test_a_relays_coil_hangs_on_what_it_hangs_on_whatever_its_circuit_is_fed_from() -> None:
    job = box({"L": ("lamp", "box", "F1")}, {"F1": ("BUS.3", "10"), "F2": ("KEY.15", "10")}, feed="30")
    coil = Wire(id="W_K", circuit="c", from_="F2.2", to="K.86")
    job = replace(job, parts=(*job.parts, Part(id="K", kind="relay", place="box")), wires=(*job.wires, coil))
    assert answered(job).moved == ()


def test_what_dies_with_a_fuse_is_found_through_a_switchs_own_contacts_only() -> None:
    job = box(
        {"L": ("lamp", "box", "F1"), "M": ("motor", "box", "F2")}, {"F1": ("BUS.3", "10"), "F2": ("KEY.15", "10")}
    )
    ends = {"W_L": "S.30", "W_M": "S.15"}
    wires = tuple(replace(wire, to=ends.get(wire.id, wire.to)) for wire in job.wires)
    wires = (*wires, Wire(id="W9", from_="S.49", to="L.1"), Wire(id="W8", from_="S.16", to="M.+"))
    contacts = (SwitchContact(part="S", position="on", joins=(("30", "49"), ("15", "16"))),)
    job = replace(job, parts=(*job.parts, Part(id="S", kind="switch_matrix")), wires=wires, contacts=contacts)
    assert fuses_of(answered(job)) == {"L": "F1", "M": "F2"}
    assert {each.wire: each.loads for each in answered(job).seats} == {"W_L": ("L",), "W_M": ("M",)}


def test_a_load_goes_to_the_key_state_its_circuit_asks_for() -> None:
    job = box({"L": ("lamp", "box", "F1")}, {"F1": ("BUS.3", "10"), "F2": ("KEY.15", "10")}, feed="15")
    answer = answered(job)
    assert fuses_of(answer) == {"L": "F2"}
    assert "the circuit asks for 15" in answer.moved[0].says


def test_a_made_up_end_moves_last() -> None:
    loads = {"LL": ("lamp", "nose_left", "F1"), "LR": ("lamp", "nose_right", "F1")}
    fuses = {"F1": ("BUS.3", "10"), "F2": ("BUS.4", "10")}
    for name in loads:
        built = (Progress(wire=f"W_{name}", end="from", step="seated"),)
        answer = answered(box(loads, fuses, progress=built))
        assert [each.loads for each in answer.moved] == [tuple(other for other in loads if other != name)]


def test_a_thin_wire_does_not_go_behind_a_larger_fuse() -> None:
    loads = {"LL": ("lamp", "nose_left", "F1"), "LR": ("lamp", "nose_right", "F1")}
    job = box(loads, {"F1": ("BUS.3", "10"), "F2": ("BUS.4", "30"), "F3": ("BUS.5", "7.5")})
    from dataclasses import replace

    typed = replace(job, wires=tuple(replace(wire, size_mm2=0.5) for wire in job.wires))
    assert [each.fuse for each in answered(typed).moved] == ["F3"]


def test_two_loads_on_one_wire_or_behind_one_relay_are_told() -> None:
    job = box({"LL": ("lamp", "nose_left", "F1")}, {"F1": ("BUS.3", "10")})
    from dataclasses import replace

    more = (
        Part(id="K", kind="relay"),
        Part(id="LR", kind="lamp", place="nose_right", circuit="c"),
        Part(id="F2", kind="fuse", place="box"),
    )
    wires = [wire for wire in job.wires if wire.id != "W_LL"]
    wires += [
        Wire(id="WK", from_="F1.2", to="K.30"),
        Wire(id="WL", from_="K.87", to="LL.1"),
        Wire(id="WR", from_="LL.1", to="LR.1"),
    ]
    answer = answered(replace(job, parts=job.parts + more, wires=tuple(wires)))
    assert answer.relays["K"] == ("LL", "LR")
    assert any("hang on one wire, WK of F1" in said for said in answer.shared)
    assert any("die with one relay, K" in said for said in answer.shared)


def test_two_lamps_behind_one_hand_switch_are_one_circuit_and_nothing_is_told() -> None:
    loads = {"LL": ("lamp", "nose_left", "F1"), "LR": ("lamp", "nose_right", "F1")}
    job = box(loads, {"F1": ("BUS.3", "10")})
    wires = [wire for wire in job.wires if wire.id not in ("W_LL", "W_LR")]
    wires += [Wire(id="WS", from_="F1.2", to="S.1"), Wire(id="WL", from_="S.2", to="LL.1")]
    wires += [Wire(id="WR", from_="S.2", to="LR.1")]
    job = replace(job, parts=(*job.parts, Part(id="S", kind="switch")), wires=tuple(wires))
    answer = answered(job)
    assert answer.seats[0].loads == ("LL", "LR")
    assert answer.shared == ()


def test_what_a_starters_second_contact_feeds_stays_there() -> None:
    job = box({"L": ("lamp", "box", "F1")}, {"F1": ("STA.15a", "10"), "F2": ("KEY.15", "10")}, feed="15")
    job = replace(job, parts=(*job.parts, Part(id="STA", kind="starter")))
    answer = answered(job)
    assert answer.fuses["F1"].state == "STA.15a"
    assert answer.moved == ()


def test_what_hangs_behind_a_hand_switch_keeps_it_whatever_its_circuit_is_fed_from() -> None:
    job = box({"L": ("lamp", "box", "F1")}, {"F1": ("SW.2", "10"), "F2": ("BUS.4", "10")}, feed="30")
    switch, wire = Part(id="SW", kind="switch", place="box"), Wire(id="WS", from_="BUS.5", to="SW.1")
    job = replace(job, parts=(*job.parts, switch), wires=(*job.wires, wire))
    answer = answered(job)
    assert answer.fuses["F1"].state == "SW.2"
    assert (fuses_of(answer), answer.moved, answer.left_out) == ({"L": "F1"}, (), ())
