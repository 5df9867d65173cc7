"""The fault finder's cards: what goes back, stays off and comes off, what can hurt, what a sound car shows."""

from __future__ import annotations

import pytest

from loomwright.car import Car
from loomwright.job.conditions import parse_condition
from loomwright.job.reading import job_from_text
from loomwright.job.rows import Reading
from loomwright.pages.addresses import JobLinks
from loomwright.pages.records.fault_page import FaultPage, NextCard, fault_page
from loomwright.pages.records.plan_view import DrawnPlace, View
from loomwright.pages.records.suspect_marks import view_marks
from loomwright.proving.locate import Located, SuspectGroup
from loomwright.proving.next_point import NextPoint
from loomwright.proving.suspects import Suspect
from tests.pages.shelves import SMALL

JOB = job_from_text(SMALL)
LINKS = JobLinks(job="small", offered=frozenset({"/j/{}/circuit/{}", "/j/{}/car-plan"}), things=frozenset())


def paged(*readings: Reading, following: NextPoint) -> FaultPage:
    """The page of a hunt in which W5 is suspected."""
    group = SuspectGroup(suspects=(Suspect(kind="open", at=("W5",)),), odds=0.9, place="cabin")
    return fault_page(
        JOB,
        Located(groups=(group,), next=(following,), asked_again=(), faults=9),
        LINKS,
        hunt="lamp",
        readings=readings,
        points=(),
        sound=lambda one: f"12 V at {one.point}",
        typed={},
        problems=(),
        stopped=False,
        done=0,
        of=0,
    )


def card(*readings: Reading, **more: object) -> NextCard:
    """The card of the next reading."""
    given: dict[str, object] = {"point": "LA1.1", "bits": 1.0, "worth": 1.0, "expected": 12.0}
    return paged(*readings, following=NextPoint(**{**given, **more})).next[0]  # type: ignore[arg-type]


def read(*off: str, value: float = 0.0, when: str = "") -> Reading:
    """A reading that was taken with things off."""
    return Reading(point="LA1.1", measure="volts", value=value, unit="V", off=off, when=parse_condition(when))


def test_what_was_off_for_the_last_reading_stays_or_goes_back_before_more_comes_off() -> None:
    assert card(off=("F1",)).steps == ("First: F1",)
    assert card(read("F1", "lamp"), off=("F1", "W5")).steps == ("No longer: lamp", "Still: F1", "Then: W5")
    assert card(read("F1")).steps == ("No longer: F1",)
    assert card(read()).steps == ()


def test_for_ohms_the_battery_comes_off_first_and_the_range_is_told_and_for_volts_it_goes_back_on() -> None:
    dead = {"measure": "ohms", "unit": "ohm", "to": "body"}
    asked = card(read(), **dead, off=("LA1",), expected=float("inf"))
    assert asked.steps[:2] == ("First: key off, the battery's earth lead off its post", "Then: LA1")
    assert asked.steps[2].startswith("Meter: ohms, 200 Ω, up a range")
    assert len(asked.steps) == 3
    assert asked.expect == "open"
    assert any("before a tip touches" in says for says in asked.cautions)
    taken = Reading(point="LA1.1", to="body", measure="ohms", value="open", off=("LA1",))
    assert card(taken, **dead, off=("LA1",)).steps[0] == "Still: the battery's earth lead off its post; LA1"
    assert card(taken).steps == ("No longer: LA1", "Last: the battery's earth lead back on")
    assert card(taken, off=("lamp",)).steps == ("No longer: LA1", "Then: lamp"), "the lead goes back on to the lamp"
    after = card(read("lamp"), **dead, expected=float("inf"))
    assert after.steps[:2] == ("First: key off, the battery's earth lead off its post", "No longer: lamp")
    assert not any("comes out only once" in says for says in after.cautions), "nothing is live"
    assert card(read()).steps == (), "volts after volts"


def test_each_step_carries_what_can_hurt_at_it() -> None:
    def told(*readings: Reading, **more: object) -> str:
        return " ".join(card(*readings, **more).cautions)

    assert told() == ""
    assert "Key off and the engine standing" in told(off=("F1",))
    assert "Key off" not in told(read("F1"), off=("F1",)), "nothing moves"
    assert "bare end capped" in told(off=("W5:SW1.1",))
    assert "the lamp between the two" in told(off=("lamp",))
    assert "comes out only once what is suspected is off" in told(read("lamp"))
    assert "set to nought before it closes" in told(measure="clamp", unit="A")
    assert "Chocks" in told(when="key=start")
    assert "clear of fans and belts" in told(when="key=run, engine=running")


def test_a_reading_stands_beside_what_a_sound_car_shows_and_nought_has_no_minus() -> None:
    page = paged(read(value=-3e-16), following=NextPoint(point="F1.2", bits=1.0, worth=1.0, expected=-1e-12))
    assert [(one.shown, one.sound) for one in page.readings] == [("0.00 V", "12 V at LA1.1")]
    assert page.next[0].expect == "0.00 V"


def test_drawing_and_plan_are_opened_with_the_car_as_it_stood_for_the_last_reading() -> None:
    page = paged(
        read(when="key=run, engine=running"), following=NextPoint(point="F1.2", bits=1.0, worth=1.0, expected=0)
    )
    assert page.drawings == (("work", "/j/small/circuit/work?suspects=1.W5&state=key=run,engine=running"),)
    assert page.plan == "/j/small/car-plan?suspects=1.W5&state=key=run,engine=running"


@pytest.mark.parametrize(
    ("anchor", "label_y", "beside"), [("start", 4.0, (87.0, 50.0)), ("middle", 40.0, (100.0, 63.0))]
)
def test_a_ring_on_the_car_plan_stands_where_the_name_of_its_place_does_not(
    anchor: str, label_y: float, beside: tuple[float, float]
) -> None:
    place = DrawnPlace(place="cabin", x=100.0, y=50.0, label_y=label_y, anchor=anchor)
    view = View(word="top", wide=200.0, high=100.0, runs=(), places=(place,), breaks=(), middle=None, top="", bottom="")
    (mark,) = view_marks(Car(JOB), view, {"SW1": 2})
    assert ((mark.x, mark.y), mark.says) == (beside, "2")
