"""Letting devices of the shop in and go: the owner's page, and the page a device comes to first."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from fastapi import APIRouter, Path, Query, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.instruments.shop_meters import shop_meters
from loomwright.pages.addresses import own_path
from loomwright.pages.doors.doorway import Lan, doorway_of, let_go_of, visitor_of
from loomwright.pages.doors.pairing import Shut
from loomwright.pages.doors.session import cookie_name, cookie_text, new_word, session_of, word_digest
from loomwright.pages.doors.visitor import ROLE_WORDS
from loomwright.pages.entries import TypedForm
from loomwright.pages.records.devices_page import CodeShown, code_shown, devices_page
from loomwright.pages.records.pair_page import PairPage
from loomwright.pages.rendering import page
from loomwright.refusals import BadDocument, NoAnswer, OutOfReach, Problem
from loomwright.store.devices import ROLES, Role
from loomwright.store.set_aside import set_aside

__all__ = ["devices_answer", "router"]

router = APIRouter(include_in_schema=False)

_SEE_OTHER, _REFUSED, _TOO_OFTEN = 303, 422, 429
_REMEMBERED_S = 30 * 24 * 3600
"""How long a browser keeps the cookie: longer than its session, so that a device is known by its name. [s]"""
DeviceId = Annotated[str, Path(max_length=20)]
To = Annotated[str, Query(max_length=500)]


@router.get("/devices")
def devices(request: Request) -> Response:
    """The devices that are let in."""
    return devices_answer(request)


@router.post("/devices/code")
def code(request: Request, typed: TypedForm) -> Response:
    """Make a code that lets one device in. It is shown once and stands nowhere else."""
    lan = _lan(request)
    role = _role(typed.get("role", ""))
    made = lan.pairing.new_code(role)
    return devices_answer(request, code=code_shown(made, role, lan.addresses[0]))


@router.post("/devices/{number}/role")
def role(request: Request, number: DeviceId, typed: TypedForm) -> Response:
    """Let a device in as something else from now on."""
    lan = _lan(request)
    given = _role(typed.get("role", ""))
    lan.devices.give_role(number, given)
    lan.devices.note("role", _name(lan, number), ROLE_WORDS[given])
    return RedirectResponse("/devices", _SEE_OTHER)


@router.post("/devices/{number}/revoke")
def revoke(request: Request, number: DeviceId) -> Response:
    """Let a device go: its session ends at once."""
    lan = _lan(request)
    lan.devices.let_go(number)
    lan.devices.note("let go", _name(lan, number))
    return RedirectResponse("/devices", _SEE_OTHER)


@router.get("/pair")
def pair(request: Request, to: To = "") -> Response:
    """Where a device types its code and gives itself a name."""
    return _pair_page(request, to=to)


@router.post("/pair")
def paired(request: Request, typed: TypedForm) -> Response:
    """Let a device in by its code."""
    lan = _lan(request)
    name, to = typed.get("name", ""), typed.get("to", "")
    address = request.client.host if request.client else ""
    try:
        opened = lan.pairing.use(typed.get("code", ""), address)
    except Shut as shut:
        lan.devices.note("shut", address)
        answer = _pair_page(request, to=to, name=name, problems=shut.problems, status=_TOO_OFTEN)
        answer.headers["Retry-After"] = str(int(shut.for_s) + 1)
        return answer
    except BadDocument as refusal:
        lan.devices.note("wrong code", address)
        return _pair_page(request, to=to, name=name, problems=refusal.problems, status=_REFUSED)
    word = new_word()
    try:
        if name.casefold() == doorway_of(request).who.casefold():
            raise BadDocument((_problem(f"a device called {name}", "a name nobody has", "Give it another name"),))
        device = lan.devices.add(name, opened.role, digest=word_digest(word), lasts_s=lan.session_s)
    except BadDocument as refusal:
        lan.pairing.put_back(opened)
        return _pair_page(
            request, to=to, name=name, code=typed.get("code", ""), problems=refusal.problems, status=_REFUSED
        )
    lan.devices.note("let in", name, f"{ROLE_WORDS[opened.role]}, from {address}")
    before = visitor_of(request)
    if before is not None and before.device:
        lan.devices.let_go(before.device)
        lan.devices.note("left", before.name, "let in anew")
    answer = RedirectResponse(own_path(to), _SEE_OTHER)
    answer.set_cookie(
        cookie_name(lan.key, is_secure=lan.is_secure),
        cookie_text(device.id, word, lan.key),
        max_age=_REMEMBERED_S,
        secure=lan.is_secure,
        httponly=True,
        samesite="lax",
    )
    return answer


@router.get("/pair/certificate")
def certificate(request: Request) -> Response:
    """What a device is given so that it trusts the certificate that was made here."""
    lan = _lan(request)
    if not lan.authority:
        raise OutOfReach("certificate", "one to be trusted", "none: it was not made here")
    headers = {"Content-Disposition": 'attachment; filename="shelf.crt"'}
    return Response(lan.authority, media_type="application/x-x509-ca-cert", headers=headers)


@router.post("/leave")
def leave(request: Request) -> Response:
    """End the session of the device that asks."""
    lan, visitor = _lan(request), visitor_of(request)
    if visitor is not None and visitor.device:
        lan.devices.let_go(visitor.device)
        lan.devices.note("left", visitor.name)
    answer = RedirectResponse("/pair", _SEE_OTHER)
    answer.delete_cookie(
        cookie_name(lan.key, is_secure=lan.is_secure), secure=lan.is_secure, httponly=True, samesite="lax"
    )
    answer.headers["Clear-Site-Data"] = '"cache"'
    return answer


def devices_answer(
    request: Request,
    *,
    code: CodeShown | None = None,
    typed: Mapping[str, str] | None = None,
    problems: tuple[Problem, ...] = (),
) -> Response:
    """The page of devices and meters.

    Args:
        code: one that was made just now.
        typed: what comes back in the form of a meter.
        problems: why something was not done.
    """
    doorway, visitor = doorway_of(request), visitor_of(request)
    lan = doorway.lan
    folder = request.app.state.desk.shelf.folder
    try:
        meters = shop_meters(folder)
    except BadDocument as unread:
        meters, problems = (), problems or unread.problems
    record = devices_page(
        doorway,
        () if lan is None else lan.devices.all(),
        () if lan is None else lan.devices.book(),
        now_s=0.0 if lan is None else lan.devices.now_s(),
        this="" if visitor is None else visitor.device,
        aside=() if lan is None else set_aside(folder),
        code=code,
        meters=meters,
        typed=typed or {},
        problems=problems,
    )
    answer = page(request, "devices.html", record, status=_REFUSED if problems else 200)
    answer.headers["Cache-Control"] = "no-store"
    return answer


def _pair_page(
    request: Request,
    *,
    to: str,
    name: str = "",
    code: str = "",
    problems: tuple[Problem, ...] = (),
    status: int = 200,
) -> Response:
    lan = _lan(request)
    record = PairPage(
        visitor=visitor_of(request),
        name=name or _known_as(request, lan),
        code=code,
        to=to,
        hours=max(1, round(lan.session_s / 3600)),
        fingerprint=lan.fingerprint,
        has_authority=bool(lan.authority),
        is_let_go=let_go_of(request) is not None,
        problems=problems,
    )
    answer = page(request, "pair.html", record, status=status)
    answer.headers["Cache-Control"] = "no-store"
    return answer


def _known_as(request: Request, lan: Lan) -> str:
    """What a device was called whose session has lapsed."""
    held = request.cookies.get(cookie_name(lan.key, is_secure=lan.is_secure), "")
    session = session_of(held, lan.key)
    device = None if session is None else lan.devices.of(session.device)
    return "" if device is None or device.ended_s is not None else device.name


def _name(lan: Lan, number: str) -> str:
    device = lan.devices.of(number)
    return number if device is None else device.name


def _role(typed: str) -> Role:
    for role in ROLES:
        if typed == role:
            return role
    raise BadDocument((_problem(f"the role {typed[:40]!r}", " ".join(ROLES), "Pick one of these"),))


def _lan(request: Request) -> Lan:
    lan = doorway_of(request).lan
    if lan is None:
        raise NoAnswer(
            "letting a device in", ("This shelf answers its own machine alone: start it with loomwright serve --lan.",)
        )
    return lan


def _problem(found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet="", row=None, column="", found=found, allowed=allowed, mend=mend)
