"""What every answer tells the browser, and what none tells anybody."""

from __future__ import annotations

import logging
import re
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

import loomwright.pages
from loomwright.pages.app import _TELLS_NOBODY
from loomwright.pages.records.devices_page import code_shown
from tests.pages.doors.addresses import all_routes
from tests.pages.doors.shop import JOB, Shop, closed, shop_in
from tests.pages.shelves import Page

STATIC = Path(loomwright.pages.__file__).parent / "static"
POLICY = {
    "default-src": "'none'",
    "script-src": "'self'",
    "style-src": "'self'",
    "frame-ancestors": "'none'",
    "base-uri": "'none'",
    "form-action": "'self'",
}
KINDS = ("/", f"/j/{JOB}", "/api/jobs", "/static/css/page.css", "/no/such/page", "/pair", f"/j/{JOB}/pack/file/x.pdf")


def test_every_answer_carries_what_a_browser_is_told(shop: Shop):
    for client in (shop.owner(), shop.stranger()):
        for path in KINDS:
            headers = client.get(path).headers
            policy = dict(part.strip().split(" ", 1) for part in headers["content-security-policy"].split(";"))
            assert POLICY.items() <= policy.items(), path
            assert "unsafe" not in headers["content-security-policy"]
            assert headers["x-content-type-options"] == "nosniff"
            assert headers["x-frame-options"] == "DENY"
            assert headers["referrer-policy"] == "same-origin"
            assert headers["permissions-policy"] == "camera=(), geolocation=(), microphone=()"
            kind = headers.get("content-type", "")
            assert not kind.startswith("text/") or "charset=utf-8" in kind, path


def test_data_comes_as_a_file_and_never_as_a_page(shop: Shop):
    headers = shop.owner().get("/api/jobs").headers
    assert headers["content-disposition"] == 'attachment; filename="answer.json"'
    assert headers["content-type"] == "application/json"


def test_no_answer_tells_versions_or_offers_a_console(shop: Shop):
    owner = shop.owner()
    for path in ("/", "/api/jobs", "/no/such/page"):
        assert {"server", "x-powered-by", "via"} & set(owner.get(path).headers) == set()
    assert owner.get("/docs").status_code == owner.get("/redoc").status_code == 404
    assert not shop.app.debug


def test_it_reports_to_nobody():
    assert set(_TELLS_NOBODY.values()) == {False}


def test_no_secret_stands_in_an_address(shop: Shop):
    secrets = re.compile(r"code|token|session|secret|key|pass")
    asked = {field.alias for route in all_routes() if "GET" in route.methods for field in route.dependant.query_params}
    assert asked
    assert [name for name in asked if secrets.search(name)] == []
    # what stands behind the # is not sent
    assert shop.doorway.lan is not None
    shown = code_shown("K7QM-3XWP", "bench", shop.doorway.lan.addresses[0])
    assert "K7QM" not in shown.address


def test_a_device_is_told_what_is_kept_of_it(shop: Shop):
    words = Page(shop.stranger().get("/pair").text).words
    assert "known by a cookie for 12 hours" in words
    assert "Nothing else is kept of it" in words


def test_no_folder_is_listed_and_no_file_of_the_program_given(shop: Shop):
    owner = shop.owner()
    for path in ("/static/", "/static/css/", "/static/%2e%2e/app.py", "/static/..%2fapp.py", "/fonts/", "/.git/config"):
        assert owner.get(path).status_code == 404, path


def test_no_script_makes_code_of_text():
    scripts = [path for path in STATIC.rglob("*.js") if "vendor" not in path.parts]
    assert len(scripts) > 10
    calls = re.compile(r"\beval\(|new Function|document\.write|setTimeout\([\"'`]|innerHTML\s*=(?!=)")
    assert [path.name for path in scripts if calls.search(path.read_text(encoding="utf-8"))] == []


@pytest.mark.parametrize("has_own_name", [True, False])
def test_tls_is_asked_for_ever_with_a_certificate_of_the_shops_own_alone(tmp_path, has_own_name):
    shop = shop_in(tmp_path, is_secure=True, has_own_name=has_own_name)
    headers = shop.stranger().get("/pair").headers
    assert ("strict-transport-security" in headers) == has_own_name
    closed(shop)


def test_an_origin_alone_lets_nobody_in(shop: Shop):
    answer = shop.stranger().post(f"/api/j/{JOB}/stop", headers={"origin": "http://127.0.0.1:8140"})
    assert answer.status_code == 401


def test_what_breaks_tells_a_word_and_nothing_of_what_is_inside(own_shop: Shop, caplog: pytest.LogCaptureFixture):
    def breaks() -> None:
        raise RuntimeError("the secret inside")

    own_shop.app.add_api_route("/breaks", breaks)
    client = TestClient(
        own_shop.app, base_url="http://127.0.0.1", client=("127.0.0.1", 1), raise_server_exceptions=False
    )
    with caplog.at_level(logging.ERROR):
        answer = client.get("/breaks")
    told = answer.json()["refused"][0]["found"]
    word = told.rsplit(" ", 1)[1]
    assert answer.status_code == 500
    assert "secret" not in answer.text
    assert word in caplog.text
    assert answer.headers["x-content-type-options"] == "nosniff"
