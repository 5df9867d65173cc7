"""Which pin a need gets: what it can do and carry, pairs, sides, options, wishes, wires, spares, and why."""

from __future__ import annotations

from dataclasses import replace

from loomwright.allocation.allocated import Allocation, allocate, other_pins
from loomwright.allocation.ground import ground_of
from loomwright.allocation.pin_decisions import pin_decisions, stale_pins, with_pins, with_pins_typed
from loomwright.allocation.pin_fixing import pin_fixed, pin_let_go
from loomwright.car import Car
from loomwright.job.decided import with_decided
from loomwright.job.job import Job
from loomwright.job.reading import problems_of
from loomwright.job.rows import Connector, Drive, Part, Place, Progress, Run, Wire
from loomwright.refusals import Stopped
from loomwright.tables.kinds import load_kinds
from tests.allocation.pin_jobs import small_job

KINDS = load_kinds()


def allocated(job: Job) -> Allocation:
    """The answer, everything proved."""
    found = allocate(job, KINDS)
    assert found.proved
    return found


def pin(name: str, *abilities: str, **cells: object) -> dict[str, object]:
    """A row of controller_pins."""
    return {"id": name, "abilities": abilities, **cells}


def need(name: str, ability: str, **cells: object) -> dict[str, object]:
    """A row of needs."""
    return {"id": name, "ability": ability, **cells}


def test_a_load_goes_where_it_is_carried():
    job = small_job(
        [need("pump", "low_side", load_a=2.0)], [pin("A1", "low_side", max_a=1.5), pin("A2", "low_side", max_a=2)]
    )
    assert allocated(job).pins == {"pump": "A2"}
    weak = small_job(
        [need("pump", "low_side", load_a=2.1)], [pin("A1", "low_side", max_a=1.5), pin("A2", "low_side", max_a=2)]
    )
    assert allocated(weak).status == "does not fit"


def test_a_blank_load_is_what_the_part_draws_when_the_battery_is_charging():
    # a coil of 9 ohm: 1.33 A at 12 V, 1.5 A at 13.5 V
    job = small_job([need("sol", "low_side")], [pin("A1", "low_side", max_a=1.49), pin("A2", "low_side", max_a=1.5)])
    parts = tuple(replace(p, settings={"ohm": "9"}) if p.id == "P_sol" else p for p in job.parts)
    assert allocated(replace(job, parts=parts)).pins == {"sol": "A2"}


def test_a_bank_carries_no_more_than_it_may():
    pins = [pin(f"A{n}", "low_side", max_a=3, bank="B", bank_max_a=4.0) for n in (1, 2, 3)] + [
        pin("A4", "low_side", max_a=3)
    ]
    needs = [need(f"n{n}", "low_side", load_a=2.0) for n in (1, 2, 3)]
    found = allocated(small_job(needs, pins))
    assert sorted(found.pins.values())[-1] == "A4"
    needs.append(need("n4", "low_side", load_a=2.0))
    short = allocated(small_job(needs, pins))
    assert short.status == "does not fit"
    assert short.conflicts[0].blamed == ("bank B of ECU",)
    assert "All pins of bank B of ECU together carry 4 A; these loads are 8 A" in short.conflicts[0].says


def test_the_rate_of_pulses_and_the_side_are_asked():
    pins = [pin("A1", "pwm", pwm_hz=100), pin("A2", "pwm", pwm_hz=1000), pin("A3", "half_bridge", active="low")]
    needs = [need("valve", "pwm", pwm_hz=300), need("fan", "low_side"), need("slow", "pwm", pwm_hz=100)]
    assert allocated(small_job(needs, pins)).pins == {"valve": "A2", "fan": "A3", "slow": "A1"}
    turned = [pin("A1", "half_bridge", active="high"), pin("A2", "half_bridge", active="low")]
    assert allocated(small_job([need("m", "half_bridge", active="low")], turned)).pins == {"m": "A2"}


def test_a_pull_up_that_is_there_makes_an_input_do():
    pins = [pin("B1", "analog_input"), pin("B2", "analog_input", pull_up_ohm=2490)]
    assert allocated(small_job([need("clt", "temperature_input")], pins)).pins == {"clt": "B2"}


def test_the_two_leads_of_a_sensor_take_a_pair():
    pins = [
        pin("B1", "vr_input"),
        pin("B2", "vr_input", pair="B3"),
        pin("B3", "vr_input", pair="B2"),
        pin("B4", "vr_input"),
    ]
    two = [need("crk", "vr_input", part="CRK", terminal="+"), need("crk_", "vr_input", part="CRK", terminal="-")]
    assert set(allocated(small_job(two, pins)).pins.values()) == {"B2", "B3"}
    # one lead alone takes up the other half as well, so it goes to a single input where there is one
    assert allocated(small_job([need("crk", "vr_input", part="CRK", terminal="+")], pins)).pins["crk"] in ("B1", "B4")


def test_needs_that_belong_together_share_a_bank_and_others_do_not():
    pins = [pin("A1", "low_side", bank="X"), pin("A2", "low_side", bank="Y"), pin("A3", "low_side", bank="Y")]
    together = [need("a", "low_side", together=("b",)), need("b", "low_side")]
    assert set(allocated(small_job(together, pins)).pins.values()) == {"A2", "A3"}
    apart = [need("a", "low_side", apart=("b",)), need("b", "low_side")]
    assert "A1" in allocated(small_job(apart, pins)).pins.values()
    plugs = (Connector(id="XA", part="ECU", terminals=("A1",)), Connector(id="XB", part="ECU", terminals=("A2", "A3")))
    bare = [{key: value for key, value in row.items() if key != "bank"} for row in pins]
    assert set(allocated(small_job(together, bare, connectors=plugs)).pins.values()) == {"A2", "A3"}


def test_one_alternative_is_built_the_one_wanted_most_that_fits():
    rows = [
        *(
            need(f"step{n}", "half_bridge", part="STEP", terminal=f"{n}", option="idle/stepper", rank=1)
            for n in range(4)
        ),
        need("valve", "pwm", option="idle/valve", rank=2),
    ]
    four = [pin(f"A{n}", "half_bridge") for n in range(4)] + [pin("A9", "pwm")]
    found = allocated(small_job(rows, four))
    assert found.options == {"idle": "stepper"}
    assert sorted(found.pins) == ["step0", "step1", "step2", "step3"]
    found = allocated(small_job(rows, four[1:]))
    assert found.options == {"idle": "valve"}
    assert found.pins == {"valve": "A9"}
    assert found.status == "fits"


def test_a_wish_is_met_by_its_order_and_only_after_everything_is_built():
    pins = [pin("A1", "low_side"), pin("A2", "low_side"), pin("A3", "low_side", "pwm")]
    needs = [need("a", "low_side", prefer=("A3", "A2")), need("b", "pwm"), need("c", "low_side")]
    found = allocated(small_job(needs, pins))
    assert found.pins == {"a": "A2", "b": "A3", "c": "A1"}
    assert found.why["a"].by == "prefer"
    assert any("A3 is taken by b: A2 is no fast switch to earth" in other.says for other in found.why["a"].others)


def test_a_connector_may_be_preferred():
    plugs = (Connector(id="XA", part="ECU", terminals=("A1",)), Connector(id="XB", part="ECU", terminals=("B1",)))
    job = small_job(
        [need("a", "low_side", prefer=("XB",))], [pin("A1", "low_side"), pin("B1", "low_side")], connectors=plugs
    )
    assert allocated(job).pins == {"a": "B1"}


def test_the_nearer_controller_is_wired_to():
    places = tuple(Place(id=name) for name in ("cabin", "bay", "nose"))
    runs = (
        Run(id="R1", from_="cabin", to="bay", length_mm=900.0),
        Run(id="R2", from_="bay", to="nose", length_mm=300.0),
    )
    pins = [pin("A1", "low_side"), pin("N1", "low_side", part="BOX")]
    job = small_job(
        [need("fan", "low_side")],
        pins,
        places=places,
        runs=runs,
        parts=[Part(id="BOX", kind="controller", place="nose")],
    )
    found = allocated(job)
    assert found.pins == {"fan": "N1"}
    assert found.why["fan"].by == "wiring"
    assert found.why["fan"].says.endswith("A1 is free, but 600 mm more wire")


def test_what_is_scarce_or_strong_is_left_over():
    pins = [pin("A1", "low_side", "injector", max_a=3), pin("A2", "low_side", max_a=3), pin("A3", "low_side", max_a=1)]
    found = allocated(small_job([need("rel", "low_side", load_a=0.2)], pins))
    assert found.pins == {"rel": "A3"}
    assert {one.ability: one.pins for one in found.spares} == {"low_side": ("A1", "A2"), "injector": ("A1",)}
    two = allocated(small_job([need("rel", "low_side", load_a=0.2), need("sol", "low_side", load_a=2.0)], pins))
    assert two.pins == {"rel": "A3", "sol": "A2"}
    assert two.why["sol"].by == "spares"
    assert "injector driver (injector) as well, of which 0 of 1 would be left over" in two.why["sol"].says


def test_every_pin_has_its_reason_and_every_other_able_pin_is_spoken_of():
    pins = [pin(f"A{n}", "low_side", max_a=n / 2) for n in range(1, 6)]
    needs = [need("a", "low_side", load_a=0.6), need("b", "low_side", load_a=1.1), need("c", "low_side", pin="A5")]
    found = allocated(small_job(needs, pins))
    assert found.why["c"].by == "fixed"
    for name in ("a", "b"):
        spoken = {each for other in found.why[name].others for each in other.pins} | {found.pins[name]}
        assert spoken == {p["id"] for p in pins if p["max_a"] >= {"a": 0.6, "b": 1.1}[name]}
        assert found.pins[name] in found.why[name].says


def wired_job() -> Job:
    """Two loads whose wires wait for their pins."""
    pins = [pin("A1", "low_side"), pin("A2", "low_side"), pin("A3", "low_side", "pwm")]
    wires = (
        Wire(id="W1", from_="P_a.2", to="", size_mm2=0.75, length_mm=900.0),
        Wire(id="W2", from_="", to="P_b.2", size_mm2=0.75, length_mm=900.0),
    )
    drives = (Drive(output="a", when=_always()),)
    return small_job([need("a", "low_side"), need("b", "low_side")], pins, wires=wires, drives=drives)


def _always():  # type: ignore[no-untyped-def]
    from loomwright.job.conditions import ALWAYS

    return ALWAYS


def test_kept_pins_are_decisions_the_wires_follow_and_they_go_stale():
    job = wired_job()
    kept = with_pins(allocated(job))
    assert problems_of(kept) == problems_of(job)  # that it has no battery, both times
    assert {(one.sheet, one.column) for one in kept.decisions} == {("needs", "pin")}
    assert {one.row: one.value for one in kept.decisions} == {"a": "A1", "b": "A2"}
    assert next(row.says for row in kept.reasons if row.row == "a").startswith("A1 is a switch to earth")
    filled = with_decided(kept)
    assert [(wire.from_, wire.to) for wire in filled.wires] == [("P_a.2", "ECU.A1"), ("ECU.A2", "P_b.2")]
    assert [row.pin for row in filled.needs] == ["A1", "A2"]
    assert [row.pin for row in kept.needs] == ["", ""]
    assert stale_pins(kept) == ()
    changed = replace(kept, controller_pins=kept.controller_pins[1:])
    assert stale_pins(changed) == ("a", "b")
    assert stale_pins(replace(kept, needs=tuple(replace(row, does="words") for row in kept.needs))) == ()


def test_adopted_pins_stand_in_the_sheet_and_missing_wires_are_added():
    job = replace(wired_job(), wires=wired_job().wires[:1])
    found = allocated(job)
    assert [(wire.id, wire.from_, wire.to) for wire in found.wires] == [("W_b", "P_b.2", "")]
    typed = with_pins_typed(found)
    assert typed.decisions == ()
    assert [row.pin for row in typed.needs] == ["A1", "A2"]
    assert with_decided(typed).wires[-1].to == "ECU.A2"
    again = allocated(typed)
    assert again.pins == found.pins
    assert again.wires == ()
    assert pin_decisions(again) == ((), ())


def test_a_wire_drawn_to_a_pin_fixes_the_need_there():
    job = wired_job()
    drawn = replace(job, wires=(replace(job.wires[0], to="ECU.A3"), job.wires[1]))
    found = allocated(drawn)
    assert found.pins == {"a": "A3", "b": "A1"}
    assert "wire W1 is drawn to it" in found.why["a"].says


def built(job: Job, wire: str, end: str) -> Job:
    """The job with one end of a wire seated."""
    return replace(job, progress=(*job.progress, Progress(wire=wire, end=end, step="seated")))


def test_after_a_change_made_up_pins_stay_and_what_moves_is_told_with_its_reason():
    job = built(with_pins(allocated(wired_job())), "W1", "to")
    assert allocated(job).moved == ()
    # a third need, which asks for A1 by name
    third = small_job([need("c", "low_side", pin="A1")], [])
    forced = replace(job, needs=(*job.needs, *third.needs), parts=(*job.parts, third.parts[-1]))
    found = allocated(forced)
    assert found.pins["c"] == "A1"
    assert [(one.need, one.before, one.built) for one in found.moved if one.built] == [("a", "A1", True)]
    assert "A1 goes to c, which is fixed to A1" in found.moved[0].says
    # two pins could serve the newcomer: the one whose wire is not made up gives way, though its own row is as good
    wish = replace(third.needs[0], pin="", prefer=("A1", "A2"))
    liked = allocated(replace(job, needs=(*job.needs, wish), parts=(*job.parts, third.parts[-1])))
    assert liked.pins == {"a": "A1", "b": "A3", "c": "A2"}
    assert [one.need for one in liked.moved] == ["b"]


def test_a_wire_only_cut_is_not_made_up():
    job = with_pins(allocated(wired_job()))
    cut = replace(job, progress=(Progress(wire="W1", end="both", step="cut"),))
    third = small_job([need("c", "low_side", prefer=("A1",))], [])
    found = allocated(replace(cut, needs=(*cut.needs, *third.needs), parts=(*cut.parts, third.parts[-1])))
    assert found.pins["c"] == "A1"
    assert [one.built for one in found.moved] == [False]


def test_the_car_answers_and_its_network_uses_the_pins():
    job = wired_job()
    battery = Part(id="B1", kind="battery", place="bay")
    lead = (Wire(id="W9", from_="B1.+", to="P_a.1", size_mm2=1.0, length_mm=500.0),)
    job = replace(job, parts=(*job.parts, battery), wires=(*job.wires, *lead))
    car = Car(with_pins(allocated(job)))
    assert car.allocated() is car.allocated()
    assert {wire.id: wire.to for wire in car.filled.wires}["W1"] == "ECU.A1"
    element = {one.name for one in car.compiled.network.elements}
    assert {"W1", "W2", "ECU.A1.drive"} <= element


def test_a_stop_gives_what_was_found_so_far():
    def tell(done: int, of: int) -> None:
        if done:
            raise Stopped("seen enough")

    pins = [pin(f"A{n}", "low_side", max_a=n / 4) for n in range(1, 9)]
    job = small_job([need(f"n{n}", "low_side", load_a=0.3, prefer=("A8",)) for n in range(5)], pins)
    found = Car(job).allocated(tell)
    assert not found.proved
    assert found.goals[0].proved
    assert len(set(found.pins.values())) == 5
    assert Car(job).allocated().proved


def test_the_order_of_rows_does_not_matter():
    needs = [need(f"n{n}", "low_side", load_a=0.3 * n) for n in range(1, 6)]
    pins = [pin(f"A{n}", "low_side", max_a=n / 2) for n in range(1, 7)]
    found = allocated(small_job(needs, pins))
    assert found.pins == allocated(small_job(needs[::-1], pins[::-1])).pins
    assert (found.pins["n1"], found.pins["n2"], found.pins["n5"]) == ("A1", "A2", "A5")


def test_a_need_is_put_on_a_pin_by_hand_its_wire_led_along_and_who_sits_there_changes_places():
    wires = (
        Wire(id="W1", from_="P_a.2", to="ECU.A1"),
        Wire(id="W2", from_="ECU.A2", to="P_b.2"),
        Wire(id="W3", from_="P_a.2", to="ECU.A9"),
    )
    built = (Progress(wire="W1", end="to", step="crimped"),)
    pins = [pin(f"A{n}", "low_side") for n in (1, 2, 3)]
    job = small_job([need("a", "low_side", pin="A1"), need("b", "low_side")], pins, wires=wires, progress=built)
    ground = ground_of(job, KINDS)
    told = {one.pins: (one.is_possible, one.goal) for one in other_pins(ground, allocate(job, KINDS).pins, "a")}
    assert told == {("A3",): (True, "moved"), ("A2",): (True, "moved")}
    free = pin_fixed(ground, "a", "A3")
    assert [(wire.from_, wire.to) for wire in free.wires] == [
        ("P_a.2", "ECU.A3"), ("ECU.A2", "P_b.2"), ("P_a.2", "ECU.A9")
    ]  # fmt: skip
    assert allocate(free, KINDS).pins == {"a": "A3", "b": "A2"}
    both = pin_fixed(ground, "a", "A2")
    assert [(wire.from_, wire.to) for wire in both.wires[:2]] == [("P_a.2", "ECU.A2"), ("ECU.A1", "P_b.2")]
    assert allocate(both, KINDS).pins == {"a": "A2", "b": "A1"}
    loose = pin_let_go(both, "a")
    assert ground_of(loose, KINDS).needs["a"].fixed is None
    assert next(wire.to for wire in loose.wires) == ""
