"""A reading is taken from the shop's meter at a page: held, stopped, told of, put where it would be typed."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path
from threading import Event

import pytest
from playwright.sync_api import Browser, expect
from playwright.sync_api import Page as BrowserPage

from loomwright.instruments.hold import Held
from loomwright.instruments.shop_meters import ShopMeter, shop_meters
from loomwright.pages import meter_work
from loomwright.pages.checking import CheckBench
from loomwright.pages.meter_work import HeldReading, MeterBench, Taking, held_apart
from loomwright.pages.routes import fault, prove, under_dash
from loomwright.proving.plan import TestPlan
from tests.instruments.socket_meter import meter_on_a_socket
from tests.instruments.test_meter import HUNG, OPEN, SIMULATOR, STEADY
from tests.instruments.test_shop_meters import TURNED
from tests.pages.conftest import RunningDesk
from tests.pages.doors.shop import Shop, closed, shop_in
from tests.pages.shelves import Page, shelf_in
from tests.pages.tablet import PLAN as DAY_PLAN
from tests.pages.tablet import Bench, opened, planned, press, tablet_in, type_figure, waiting
from tests.worklist.small_day import SMALL_DAY

PATIENCE_S = 60.0
PLAN = TestPlan(
    tests=(planned("live/LA1.1"), planned("live/LA1.2")), walk_mm=0.0, turns=0, before_walk_mm=0.0, before_turns=0
)
STILL = HeldReading(held=Held(value=12.41, unit="V", asked=5), name="Bench six digits")


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    made = shop_in(tmp_path_factory.mktemp("meters"))
    named(made.shelf.folder)
    yield made
    closed(made)


@pytest.fixture(autouse=True)
def _here(monkeypatch: pytest.MonkeyPatch) -> None:
    """Meters are asked in this process: it has the rooms loaded."""
    monkeypatch.setattr(meter_work, "worked_apart", lambda _what, work, given, tell: work(*given, tell))


def named(folder: Path) -> None:
    """A sheet of meters as a person would write it, of the simulator."""
    rows = [("bench meter", STEADY), ("open meter", OPEN), ("hung meter", HUNG), ("turned meter", TURNED)]
    text = "".join(f"{name},{address},{SIMULATOR}\n" for name, address in rows)
    (folder / "meters.csv").write_text(f"meter,address,visa\n{text}", encoding="utf-8")


def taken(client, meter: str, measure: str = "volts") -> dict:
    """What comes of a reading, once nothing more does."""
    begun = client.post("/api/meters/take", json={"meter": meter, "measure": measure})
    assert begun.status_code == 200, begun.text
    until = time.monotonic() + PATIENCE_S
    while not (told := client.get(f"/api/meters/take/{begun.json()['key']}").json())["over"]:
        assert time.monotonic() < until
        time.sleep(0.05)
    return told


def over(bench: MeterBench, key: str) -> Taking:
    """A reading once nothing more comes of it."""
    until = time.monotonic() + PATIENCE_S
    while not (found := bench.look(key, "sam")).is_over:
        assert time.monotonic() < until
        time.sleep(0.01)
    return found


def test_a_steady_reading_comes_as_it_would_be_typed_with_its_instrument(shop: Shop) -> None:
    told = taken(shop.owner(), "bench meter")
    assert (told["value"], told["instrument"]) == ("12.41 V", "bench meter (Bench six digits)")
    assert (told["shown"], told["reasons"]) == ("12.41 V", [])
    assert taken(shop.owner(), "open meter", "ohms")["value"] == "open"


def test_a_meter_that_shows_another_unit_is_told_and_gives_nothing(shop: Shop) -> None:
    told = taken(shop.owner(), "turned meter")
    assert told["value"] == ""
    assert "It shows ohms, not volts: it was set otherwise by hand." in told["reasons"]


def test_a_meter_unplugged_mid_reading_says_what_it_last_showed(own_shop: Shop) -> None:
    client = own_shop.owner()
    with meter_on_a_socket(["12.30", "12.31"], "hangs up") as address:
        client.post("/devices/meters", data={"meter": "bench meter", "address": address})
        told = taken(client, "bench meter")
    assert told["value"] == ""
    assert "hung, or its lead came off" in told["reasons"][0]
    assert "It last showed 12.31 V" in told["reasons"][-1]


def test_it_is_stopped_and_the_meter_is_free_again() -> None:
    shown, let_go = Event(), Event()

    def restless(_meter: ShopMeter, _measure: str, tell) -> HeldReading:
        try:
            for asked in range(1, 10**9):
                tell(11.0 + asked % 3, asked)
                shown.set()
        finally:
            let_go.set()
        return STILL

    bench = MeterBench(restless)
    meter = ShopMeter(name="bench meter", address=STEADY)
    key = bench.begin(meter, "volts", "sam")
    assert shown.wait(PATIENCE_S)
    assert bench.look(key, "sam").shown.endswith(" V")
    second = bench.look(bench.begin(meter, "volts", "kim"), "kim")
    assert second.reasons == (
        "The bench meter is just being read for sam. Wait until that stands still, or stop it there.",
    )
    bench.stop(key, "kim")
    assert not bench.look(key, "sam").is_over, "nobody stops another's reading"
    bench.stop(key, "sam")
    assert bench.look(key, "sam").is_stopped
    assert let_go.wait(PATIENCE_S)
    bench = MeterBench(lambda *_: STILL)
    assert over(bench, bench.begin(meter, "volts", "sam")).value == "12.41 V"


def test_what_breaks_while_a_meter_is_read_is_told_and_not_waited_for() -> None:
    def broken(*_: object) -> HeldReading:
        raise RuntimeError("bus fault")

    bench = MeterBench(broken)
    found = over(bench, bench.begin(ShopMeter(name="m", address=STEADY), "volts", "sam"))
    assert found.reasons == ("It came to no end (RuntimeError: bus fault).",)


def test_a_reading_goes_on_in_a_process_of_its_own(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    told: list[int] = []
    found = held_apart(
        ShopMeter(name="m", address=STEADY, visa=SIMULATOR), "volts", lambda _, asked: told.append(asked)
    )
    assert found.held is not None
    assert (found.held.value, found.name) == (12.41, "Bench six digits")
    assert max(told) >= 4


def test_who_may_not_record_may_not_read_and_only_the_owner_names_meters(shop: Shop) -> None:
    looker, bench = shop.let_in("look"), shop.let_in("bench", "bench tablet")
    wanted = {"meter": "bench meter", "measure": "volts"}
    assert looker.post("/api/meters/take", json=wanted).status_code == 403
    key = bench.post("/api/meters/take", json=wanted).json()["key"]
    assert bench.get(f"/api/meters/take/{key}").status_code == 200
    for other in (looker, shop.owner()):
        assert other.get(f"/api/meters/take/{key}").status_code == 404
    assert bench.post("/devices/meters", data={"meter": "m", "address": STEADY}).status_code == 403
    assert bench.post("/devices/meters/drop", data={"meter": "bench meter"}).status_code == 403
    told = bench.post("/api/meters/take", json={"meter": "192.0.2.9", "measure": "volts"})
    assert (told.status_code, "bench meter" in told.text) == (404, True)


def test_a_tablet_is_told_of_the_meters_it_may_read_and_of_what_can_hurt(shop: Shop) -> None:
    offered = shop.owner().get("/api/meters").json()
    assert offered["meters"] == ["bench meter", "open meter", "hung meter", "turned meter"]
    assert "dead short" in offered["cautions"]["amps"]
    assert shop.let_in("bench", "tablet").get("/api/meters").json()["meters"] == offered["meters"]
    assert shop.let_in("look", "at home").get("/api/meters").json()["meters"] == []


def test_the_owner_names_a_meter_and_takes_it_out_and_what_is_none_comes_back(own_shop: Shop) -> None:
    client = own_shop.owner()
    back = client.post("/devices/meters", data={"meter": "bench meter", "address": "on the bench"})
    assert back.status_code == 422
    assert "an address as VISA writes it" in Page(back.text).words
    fields = {one.get("name"): one.get("value") for one in Page(back.text).all("input")}
    assert (fields["meter"], fields["address"]) == ("bench meter", "on the bench")
    page = Page(client.post("/devices/meters", data={"meter": "bench meter", "address": STEADY, "visa": "x"}).text)
    assert f"bench meter {STEADY} VISA of our own" in page.words
    assert shop_meters(own_shop.shelf.folder) == (ShopMeter(name="bench meter", address=STEADY),)
    assert page.unclosed == []
    assert len(page.ids()) == len(set(page.ids()))
    client.post("/devices/meters/drop", data={"meter": "bench meter"})
    assert shop_meters(own_shop.shelf.folder) == ()


def test_pages_offer_the_meter_where_a_figure_is_wanted_to_those_who_may_record(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(prove, "plan_apart", lambda _job, _tell: PLAN)
    monkeypatch.setattr(fault, "faults_apart", lambda _job, _tell: None)
    offered = 'data-take="bench meter"'
    until = time.monotonic() + PATIENCE_S
    while "test-card" not in (text := shop.owner().get("/j/small/prove").text):
        assert time.monotonic() < until
        time.sleep(0.05)
    assert offered in text
    assert offered in shop.owner().get("/j/small/fault?hunt=lamp").text
    assert offered not in shop.let_in("look").get("/j/small/prove", headers={"accept": "text/html"}).text
    (shop.shelf.folder / "meters.csv").write_text("meter,address\nbench,nowhere\n", encoding="utf-8")
    try:
        assert offered not in shop.owner().get("/j/small/prove").text, "a sheet that cannot be read stops no page"
        assert "an address as VISA writes it" in Page(shop.owner().get("/devices").text).words
    finally:
        named(shop.shelf.folder)


def test_what_was_read_with_a_meter_says_so_in_the_survey_and_what_a_lamp_showed_does_not(own_shop: Shop) -> None:
    client, by = own_shop.owner(), "bench meter (Bench six digits)"
    typed = {"wire": "O1", "measure": "volts", "when": "key=run", "instrument": by}
    assert client.post("/j/small/survey", data={**typed, "value": "12.41 V"}).status_code == 200
    assert client.post("/j/small/survey", data={**typed, "value": "", "lamp": "dim"}).status_code == 200
    found = own_shop.shelf.now("small").job.readings
    assert [(one.value, one.unit, one.instrument) for one in found] == [(12.41, "V", by), ("dim", "", "")]


@pytest.fixture
def own_shop(tmp_path: Path) -> Iterator[Shop]:
    made = shop_in(tmp_path)
    yield made
    closed(made)


def test_in_the_browser_it_fills_the_field_and_loses_nothing_that_was_typed(
    page: BrowserPage, desk: RunningDesk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(prove, "plan_apart", lambda _job, _tell: PLAN)
    named(desk.shelf.folder)
    try:
        page.goto(f"{desk.url}/j/{desk.job}/prove")
        value, by = page.locator("#t-value"), page.locator("#t-with")
        value.fill("11.9")
        by.fill("pocket meter")
        page.locator("#t-warmth").select_option("hot")
        page.get_by_role("button", name="From the turned meter").click()
        expect(page.locator("[data-told]")).to_contain_text("It shows ohms, not volts")
        expect(value).to_have_value("11.9")
        page.get_by_role("button", name="From the bench meter").click()
        expect(value).to_have_value("12.41 V")
        expect(by).to_have_value("bench meter (Bench six digits)")
        value.fill("12.2")
        expect(by).to_have_value("pocket meter")
        page.get_by_role("button", name="From the bench meter").click()
        expect(page.locator("[data-told]")).to_contain_text("It stands still at 12.41 V")
        expect(page.get_by_role("button", name="Take it down")).to_be_focused()
        page.keyboard.press("Enter")
        expect(page.locator(".test-last")).to_contain_text("12.4 V, hot: passed")
    finally:
        (desk.shelf.folder / "meters.csv").unlink()
    row = desk.shelf.now(desk.job).job.proofs[-1]
    assert (row.value, row.instrument, row.warmth) == (12.41, "bench meter (Bench six digits)", "hot")


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Bench]:
    """A server under a tablet, its meters named; four tests to make."""
    monkeypatch.setattr(under_dash, "plan_apart", lambda _job, _tell: DAY_PLAN)
    monkeypatch.setattr(CheckBench, "warm", lambda _: None)
    shelf = shelf_in(tmp_path, car=SMALL_DAY)
    named(shelf.folder)
    made = Bench(shelf)
    made.start()
    yield made
    made.stop()
    shelf.close()


def on_keypad(page: BrowserPage, words: str) -> None:
    """What the keypad shows."""
    expect(page.locator(".u-typed")).to_have_text(words)


def from_meter(page: BrowserPage, name: str) -> None:
    """Touch the button of the meters, then the meter."""
    press(page, "From a meter")
    press(page, f"From the {name}")


def test_under_the_dash_a_meter_fills_the_keypad_and_the_record_says_which(bench: Bench, browser: Browser) -> None:
    with tablet_in(browser) as tablet:
        page = opened(tablet, bench.url, "car", "?work=prove")
        from_meter(page, "turned meter")
        expect(page.locator(".u-told")).to_contain_text("It shows ohms, not volts")
        from_meter(page, "bench meter")
        expect(page.locator(".u-told")).to_have_text("It stands still at 12.41 V. Lift the probes, then keep it.")
        on_keypad(page, "12.41 V")
        press(page, "Keep it")
        expect(page.locator(".u-note")).to_contain_text("12.41 V: as expected")
        from_meter(page, "bench meter")
        on_keypad(page, "12.41 V")
        type_figure(page, "12.2")
        waiting(page, "all is sent")
        bench.stop()
        waiting(page, "no signal")
        expect(page.get_by_role("button", name="From a meter")).to_have_count(0)
        bench.start()
        expect(page.get_by_role("button", name="From a meter")).to_be_visible()
    proofs = bench.shelf.now("car").job.proofs
    assert [(one.value, one.instrument) for one in proofs] == [(12.41, "bench meter (Bench six digits)"), (12.2, "")]


def test_under_the_dash_a_meter_that_hangs_is_stopped_and_the_next_thing_lets_go_of_it(
    bench: Bench, browser: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, let_go = Event(), Event()

    def restless(_meter: ShopMeter, _measure: str, tell) -> HeldReading:
        begun.set()
        try:
            for asked in range(1, 10**9):
                tell(11.0 + asked % 3, asked)
        finally:
            let_go.set()
        return STILL

    monkeypatch.setattr(meter_work, "held_apart", restless)
    bench.stop()
    bench.start()
    with tablet_in(browser) as tablet:
        page = opened(tablet, bench.url, "car", "?work=prove")
        from_meter(page, "bench meter")
        expect(page.locator(".u-asks")).to_contain_text("No probe into an airbag")
        expect(page.locator(".u-told")).to_contain_text("not still yet")
        press(page, "Stop")
        expect(page.locator(".u-told")).to_have_text("Stopped. The reading can be typed instead.")
        assert let_go.wait(PATIENCE_S)
        for event in (begun, let_go):
            event.clear()
        from_meter(page, "bench meter")
        assert begun.wait(PATIENCE_S)
        press(page, "Later")
        assert let_go.wait(PATIENCE_S)
        on_keypad(page, "– V")
    assert bench.shelf.now("car").job.proofs == ()


def test_under_the_dash_a_meter_on_amps_is_read_only_once_it_is_said_to_be_in_line(
    bench: Bench, browser: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    read = Event()

    def still(_meter: ShopMeter, _measure: str, _tell) -> HeldReading:
        read.set()
        return HeldReading(held=Held(value=-1.25, unit="A", asked=5), name="clamp")

    amps = planned("live/BAT.+", measure="amps", unit="A", low=1.0, high=2.0, says="1.3 A")
    plan = TestPlan(tests=(amps,), walk_mm=0.0, turns=0, before_walk_mm=0.0, before_turns=0)
    monkeypatch.setattr(under_dash, "plan_apart", lambda _job, _tell: plan)
    monkeypatch.setattr(meter_work, "held_apart", still)
    (bench.shelf.folder / "meters.csv").write_text(f"meter,address\nbench meter,{STEADY}\n", encoding="utf-8")
    bench.stop()
    bench.start()
    with tablet_in(browser) as tablet:
        page = opened(tablet, bench.url, "car", "?work=prove")
        press(page, "From the bench meter")
        expect(page.locator(".u-asks")).to_contain_text("a dead short: in line with the load")
        assert not read.is_set()
        press(page, "It is in line: read the bench meter")
        on_keypad(page, "−1.25 A")
        press(page, "Keep it")
        waiting(page, "all is sent")
    proof = bench.shelf.now("car").job.proofs[-1]
    assert (proof.value, proof.verdict, proof.instrument) == (-1.25, "passed", "bench meter (clamp)")
