"""Cautions: each is there where the job has what can hurt, and nowhere else."""

from __future__ import annotations

import pytest

from loomwright.handover.cautions import cautions_of
from loomwright.job.job import Job
from loomwright.job.rows import Part, Place, VehicleProperty, Wire
from loomwright.tables.kinds import load_kinds


def job(*kinds: str, role: str = "", zone: str = "", volts: str = "12", kept: bool = False) -> Job:
    """A job of one part a kind, all at one place."""
    return Job(
        vehicle=(VehicleProperty(name="system_voltage", value=volts),),
        places=(Place(id="there", zone=zone),),
        parts=tuple(Part(id=f"P{n}", kind=kind, place="there", role=role) for n, kind in enumerate(kinds)),
        wires=(Wire(id="W1", fitted="kept"),) if kept else (),
    )


def said(of: Job) -> str:
    """All cautions of a job in one text."""
    return " ".join(f"{caution.step}: {caution.says}" for caution in cautions_of(of, load_kinds()))


def test_a_bare_job_says_who_comes_first_and_nothing_of_what_it_lacks():
    cautions = cautions_of(job(), load_kinds())
    assert "makers' data" in cautions[0].says
    assert [caution.step for caution in cautions] == ["Before anything", "Under the car", "Engine running"]


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("battery", "Rings and watches off"),
        ("alternator", "Never lift a battery lead with the engine running"),
        ("controller", "Unplug the controller and all electronics before welding"),
        ("controller", "No lamp, neither a test lamp nor one in series, into a plug of the controller"),
        ("fan_2speed", "Fans can start by themselves, with the key off too"),
        ("fuel_pump", "Relieve the fuel pressure before opening a line"),
        ("injector", "Relieve the fuel pressure before opening a line"),
        ("coil_twin", "never fire a coil without a gap"),
        ("throttle_electric", "Fingers out of an electric throttle"),
        ("key_switch", "only at standstill"),
        ("selector_switch", "On chocks, a driver seated"),
        ("crash_switch", "carries a tag"),
    ],
)
def test_a_caution_comes_with_what_can_hurt(kind, words):
    assert words in said(job(kind))
    assert words not in said(job("lamp"))


def test_the_battery_in_the_boot_and_in_the_cabin():
    assert "its fuse belongs at the battery" in said(job("battery", zone="boot"))
    assert "a vent to the outside" in said(job("battery", zone="cabin"))
    assert "boot" not in said(job("battery", zone="engine_bay"))
    assert "boot" not in said(job("lamp", zone="boot"))


def test_no_24_v_jump_unless_the_car_has_24_v():
    assert "24 V" in said(job("battery"))
    assert "24 V" in said(job("battery", volts="6"))
    assert "24 V" not in said(job("battery", volts="24"))


def test_the_hold_of_the_controller_needs_both_an_isolator_and_a_controller():
    assert "finish its hold" in said(job("isolator", "controller"))
    assert "finish its hold" not in said(job("isolator"))


def test_brake_lamps_and_inhibits_are_told_by_role():
    assert "Brake servo and brake lamps proved first" in said(job("lamp", role="brake_lamp"))
    assert "Brake servo and brake lamps proved first" in said(job("lamp_tail", role="tail_left"))
    assert "carries a tag" in said(job("switch", role="start_inhibit"))
    assert "Brake servo" not in said(job("lamp"))


def test_old_lagging_only_where_something_old_is_kept():
    assert "asbestos" in said(job("lamp", kept=True))
    assert "asbestos" not in said(job("lamp"))


def test_a_part_taken_out_warns_of_nothing():
    gone = Job(parts=(Part(id="P1", kind="fuel_pump", fitted="removed"),))
    assert "fuel pressure" not in said(gone)
