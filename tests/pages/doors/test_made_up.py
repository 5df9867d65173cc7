"""Nonsense sent to every address: the answer is one of those promised, and nothing breaks.

Source: addresses by walking the routers; requests to the HTTP interface by Schemathesis 4 from its own description.
"""

from __future__ import annotations

import pytest
import schemathesis
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, given, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import status_code_conformance

from tests.pages.doors.addresses import asked, changes, looks
from tests.pages.doors.shop import ADDRESS, JOB, URL, Shop
from tests.pages.shelves import asked_from
from tests.pages.test_http_interface import aimed

BROKEN = 500
_PATIENT = tuple(HealthCheck)
MADE_UP = 20

FORMS: tuple[dict[str, str], ...] = (
    {},
    dict.fromkeys(("row", "item", "id", "test", "point", "value", "revision", "number", "time", "wire", "do"), "x"),
    {"row": "-1", "revision": "9" * 30, "number": "1e999", "value": "nan", "hours": "-inf", "do": "drop", "was.x": "y"},
    {
        "text": "\x00\ud7ff\u202e" * 30,
        "name": "../../etc",
        "id": "<script>",
        "why": "'; DROP TABLE jobs; --",
        "row": "2",
    },
    dict.fromkeys(("row", "id", "text", "value", "minutes", "price", "hours", "title"), "9" * 4000),
)
BODIES: tuple[tuple[str, bytes], ...] = (
    ("application/x-www-form-urlencoded", b"%ff=%zz&&&=&row=%00&once=%ff"),
    ("multipart/form-data; boundary=x", b"--x\r\nno form"),
    ("multipart/form-data", b"--x--"),
    (
        "multipart/form-data; boundary=x",
        b'--x\r\nContent-Disposition: form-data; name="file"; filename="../a.xlsx"\r\n\r\nPK',
    ),
    ("application/json", b"{"),
    ("application/json", b"[" * 3000),
    ("application/json", b'{"edits": 1e999, "token": "\xff"}'),
)
QUERIES = ("", "?state=%00&revision=-1&row=1e9&wire=%ff", "?state=key=&unplug=,,,&run=" + "x" * 5000)
CLUMSY = ("%00", "%2e%2e", "y" * 3000, "W3%27--", "%e2%80%ae", "%ff")


def at_the_machine(shop: Shop) -> TestClient:
    client = shop.owner()
    return TestClient(
        client.app,
        base_url="http://127.0.0.1:8140",
        client=("127.0.0.1", 1),
        raise_server_exceptions=False,
        follow_redirects=False,
    )


def broken_forms(client: TestClient, forms, bodies) -> list[str]:
    """Every address that breaks, by what was sent to it."""
    told = []
    for method, path in changes():
        there = asked(path)
        for typed in forms:
            if client.request(method, there, data=typed).status_code >= BROKEN:
                told.append(f"{path} {typed}")
        for sort, body in bodies:
            if client.request(method, there, content=body, headers={"content-type": sort}).status_code >= BROKEN:
                told.append(f"{path} {sort} {body[:60]!r}")
    return told


def test_an_empty_price_is_told_and_breaks_nothing(shop: Shop):
    assert at_the_machine(shop).post(f"/j/{JOB}/arrival/price").status_code == 422


@pytest.mark.long
def test_no_form_at_all_breaks_an_address(shop: Shop):
    assert broken_forms(at_the_machine(shop), FORMS, BODIES) == []


@pytest.mark.long
def test_no_question_breaks_a_page(shop: Shop):
    client = at_the_machine(shop)
    told = []
    for path in looks():
        clumsy = [asked(path.replace("{", "{bad_", 1)).replace("x", word, 1) for word in CLUMSY if "{" in path]
        for there in (*(asked(path) + query for query in QUERIES), *clumsy):
            if not path.endswith("/news") and client.get(there).status_code >= BROKEN:
                told.append(there[:200])
    assert told == []


def promised(shop: Shop, **headers: str) -> list[str]:
    """Every address of the HTTP interface that answers what it does not promise to a device."""
    app = asked_from(shop.app, "192.168.1.50", f"{ADDRESS}:8140", origin=URL, **headers)
    told = []
    described = schemathesis.openapi.from_dict(shop.app.openapi())
    described.app = app
    for operation in [found.ok() for found in described.get_all_operations()]:

        @settings(max_examples=MADE_UP, deadline=None, derandomize=True, database=None, suppress_health_check=_PATIENT)
        @given(case=operation.as_strategy())
        def holds(case: schemathesis.Case) -> None:
            aimed(case).call_and_validate(checks=(not_a_server_error, status_code_conformance))

        try:
            holds()
        except (Exception, BaseExceptionGroup) as fault:  # noqa: BLE001  # all addresses are told, not the first only
            told.append(f"{operation.label}: {fault} {getattr(fault, 'exceptions', '')}")
    return told


@pytest.mark.long
@pytest.mark.parametrize("role", ["", "look", "bench"])
def test_every_address_answers_a_device_as_it_says(own_shop: Shop, role):
    if not role:
        assert promised(own_shop) == []
        return
    client = own_shop.let_in(role)
    cookie = "; ".join(f"{name}={value}" for name, value in client.cookies.items())
    assert promised(own_shop, cookie=cookie) == []
