"""The cookie of a session: what it holds, how it is kept, and how it ends."""

from __future__ import annotations

import logging
import stat
from http.cookies import SimpleCookie

import pytest

from loomwright.pages.doors.doorway import SESSION_S
from loomwright.pages.doors.session import cookie_name, cookie_text, new_word, session_of
from loomwright.refusals import BadDocument
from loomwright.store.devices import FILE_NAME, Devices
from loomwright.store.door_key import KEY_NAME, door_key
from tests.pages.doors.shop import Clock, Shop
from tests.pages.shelves import Page

KEY = b"k" * 32
DAY_S = 24 * 3600.0


def cookie_of(shop: Shop, name: str, role="bench") -> SimpleCookie:
    code = shop.pairing.new_code(role)
    answer = shop.stranger().post("/pair", data={"code": code, "name": name})
    return SimpleCookie(answer.headers["set-cookie"])


def test_a_session_has_more_than_64_bits_and_none_comes_twice():
    words = {new_word() for _ in range(1000)}
    assert len(words) == 1000
    assert all(len(word) == 22 for word in words)  # 128 bits in base 64


@pytest.mark.parametrize(
    "cookie",
    ["", "a.b", "a.b.c", "a.b.c.d", "ä.b.c", "x" * 10_000, cookie_text("dev", "word", b"o" * 32)],
)
def test_a_cookie_that_is_not_ours_says_nothing(cookie):
    assert session_of(cookie, KEY) is None


def test_a_cookie_changed_anywhere_says_nothing():
    good = cookie_text("dev", "word", KEY)
    assert session_of(good, KEY) is not None
    for place in range(len(good)):
        changed = good[:place] + ("A" if good[place] != "A" else "B") + good[place + 1 :]
        if place != len(good) - 1:  # the last letter of a digest in base 64 holds two bits that mean nothing
            assert session_of(changed, KEY) is None, place


def test_scripts_do_not_read_the_cookie_and_other_sites_do_not_send_it(shop: Shop):
    (held,) = cookie_of(shop, "flags").values()
    assert held["httponly"]
    assert held["samesite"] == "lax"
    assert held["path"] == "/"
    assert held["domain"] == ""
    assert not held["secure"]


def test_over_tls_the_cookie_goes_over_tls_alone_to_this_host_alone(secure_shop: Shop):
    (held,) = cookie_of(secure_shop, "flags").values()
    assert held["secure"]
    assert held["httponly"]
    assert held.key.startswith("__Host-")
    client = secure_shop.let_in("bench")
    assert client.get("/api/jobs").status_code == 200


def test_two_shelves_of_one_machine_keep_their_cookies_apart():
    assert cookie_name(KEY, is_secure=False) != cookie_name(b"o" * 32, is_secure=False)


def test_a_made_up_cookie_lets_nobody_in(shop: Shop):
    key = door_key(shop.shelf.folder)
    shop.let_in("owner", "real")
    number = shop.device("real")
    for text in (cookie_text(number, "guess", b"o" * 32), cookie_text(number, new_word(), key), f"{number}.x.y"):
        client = shop.stranger()
        client.cookies.set(cookie_name(key, is_secure=False), text)
        assert client.get("/api/jobs").status_code == 401


def test_a_device_that_is_let_go_is_out_at_once(shop: Shop):
    client = shop.let_in("bench", "lost")
    assert client.get("/api/jobs").status_code == 200
    shop.owner().post(f"/devices/{shop.device('lost')}/revoke")
    assert client.get("/api/jobs").status_code == 401
    assert client.post("/api/j/small/undo").status_code == 401


def test_a_command_lets_a_device_go_while_the_server_runs(shop: Shop):
    client = shop.let_in("bench", "from outside")
    beside = Devices(shop.shelf.folder, shop.clock)
    beside.let_go(shop.device("from outside"))
    beside.close()
    assert client.get("/api/jobs").status_code == 401


def test_another_role_counts_at_once(shop: Shop):
    client = shop.let_in("bench", "changed")
    assert client.post("/api/j/small/stop").status_code == 200
    shop.owner().post(f"/devices/{shop.device('changed')}/role", data={"role": "look"})
    assert client.post("/api/j/small/stop").status_code == 403
    assert client.get("/api/jobs").status_code == 200


def test_a_session_lapses_after_a_working_day_and_the_device_is_known_by_its_name(own_shop: Shop):
    assert SESSION_S <= 12 * 3600
    client = own_shop.let_in("bench", "tablet")
    own_shop.clock.now_s += SESSION_S - 1
    assert client.get("/api/jobs").status_code == 200
    own_shop.clock.now_s += 1
    assert client.get("/api/jobs").status_code == 401
    assert any(one.get("value") == "tablet" for one in Page(client.get("/pair").text).all("input"))
    again = client.post("/pair", data={"code": own_shop.pairing.new_code("bench"), "name": "tablet"})
    assert again.status_code == 303
    assert client.get("/api/jobs").status_code == 200


def test_leaving_ends_the_session_itself_and_not_the_cookie_alone(shop: Shop):
    client = shop.let_in("bench", "leaver")
    held = dict(client.cookies)
    answer = client.post("/leave")
    assert answer.headers["clear-site-data"] == '"cache"'
    client.cookies.update(held)
    assert client.get("/api/jobs").status_code == 401


def test_who_is_let_in_anew_has_a_new_session_and_the_old_one_ends(shop: Shop):
    client = shop.let_in("look", "first")
    before = dict(client.cookies)
    client.post("/pair", data={"code": shop.pairing.new_code("bench"), "name": "second"})
    assert dict(client.cookies) != before
    old = shop.stranger()
    old.cookies.update(before)
    assert old.get("/api/jobs").status_code == 401


def test_what_a_device_was_shown_is_not_kept_by_its_browser(shop: Shop):
    client = shop.let_in("look")
    assert client.get("/j/small").headers["cache-control"] == "no-store"
    assert client.get("/api/jobs").headers["cache-control"] == "no-store"
    assert "cache-control" not in client.get("/static/css/page.css").headers


def test_the_secret_and_the_devices_are_read_by_their_owner_alone(shop: Shop):
    for name in (KEY_NAME, FILE_NAME):
        assert stat.S_IMODE((shop.shelf.folder / name).stat().st_mode) == 0o600, name


def test_the_secret_is_made_once(tmp_path):
    assert door_key(tmp_path) == door_key(tmp_path)
    assert len(door_key(tmp_path)) == 32
    (tmp_path / KEY_NAME).chmod(0o644)
    door_key(tmp_path)
    assert stat.S_IMODE((tmp_path / KEY_NAME).stat().st_mode) == 0o600


def test_a_secret_that_is_none_is_told(tmp_path):
    (tmp_path / KEY_NAME).write_bytes(b"short")
    with pytest.raises(BadDocument, match="is no key"):
        door_key(tmp_path)


def test_the_file_of_devices_opens_nothing(shop: Shop):
    client = shop.let_in("owner", "filed")
    (word,) = (value.split(".")[1] for value in client.cookies.values())
    held = (shop.shelf.folder / FILE_NAME).read_bytes()
    assert word.encode() not in held
    assert b"filed" in held


def test_no_secret_is_in_a_log(own_shop: Shop, caplog: pytest.LogCaptureFixture):
    with caplog.at_level(logging.DEBUG):
        code = own_shop.pairing.new_code("bench")
        client = own_shop.stranger()
        client.post("/pair", data={"code": "2222-2222", "name": "x"})
        client.post("/pair", data={"code": code, "name": "logged"})
        client.get("/api/jobs")
    written = caplog.text + repr(own_shop.devices.book())
    assert "logged" in written
    for secret in (
        code,
        code.replace("-", ""),
        "2222",
        *client.cookies.values(),
        door_key(own_shop.shelf.folder).hex(),
    ):
        assert secret not in written


def test_the_book_of_the_door_tells_who_came_and_what_was_refused(own_shop: Shop):
    client = own_shop.let_in("look", "reader")
    client.post("/j/small/snags")
    own_shop.owner().post(f"/devices/{own_shop.device('reader')}/role", data={"role": "bench"})
    own_shop.owner().post(f"/devices/{own_shop.device('reader')}/revoke")
    told = [(line.what, line.who) for line in reversed(own_shop.devices.book())]
    assert told == [("let in", "reader"), ("refused", "reader"), ("role", "reader"), ("let go", "reader")]
    assert "POST /j/small/snags" in [line.about for line in own_shop.devices.book()]


def test_the_book_does_not_grow_without_end(tmp_path):
    devices = Devices(tmp_path, Clock())
    devices._file.execute("BEGIN")
    many = [(float(number), "refused", f"d{number}", "") for number in range(2500)]
    devices._file.executemany("INSERT INTO book(at, what, who, about) VALUES(?, ?, ?, ?)", many)
    devices._file.execute("COMMIT")
    devices.note("refused", "last")
    assert len(devices.book(newest=5000)) == 2000
    assert devices.book(newest=1)[0].who == "last"
    devices.close()
