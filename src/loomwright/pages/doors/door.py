"""The door: every request passes it, and what it does not know it does not let in.

In order: is it asked under a name of ours; who asks; may they do that; was a change sent by a page of ours; is it of a
sort and size that is taken. A refusal is told in words, and in the book of the door where somebody tried what they may
not. Deeper rooms go by `visitor_of(request)` and ask no further.
"""

from __future__ import annotations

from collections.abc import Mapping
from http.cookies import CookieError, SimpleCookie
from urllib.parse import quote

from fastapi import Request
from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from loomwright.pages.doors.bodies import bounded, is_known_sort, most_bytes, words_of
from loomwright.pages.doors.doorway import Doorway, Lan
from loomwright.pages.doors.origins import comes_from_here, host_name, is_from_us
from loomwright.pages.doors.session import cookie_name, session_of
from loomwright.pages.doors.visitor import Need, Visitor, may, need_of
from loomwright.pages.refused import nothing_there, refused
from loomwright.refusals import BadDocument, Problem
from loomwright.store.devices import Device

__all__ = ["Door"]

_READS = frozenset({"GET", "HEAD"})
_METHODS = frozenset({"GET", "HEAD", "POST"})
_ASKED_AMISS, _UNKNOWN, _NOT_THEIRS, _NO_SUCH_WAY, _TOO_LARGE, _NO_SUCH_SORT = 400, 401, 403, 405, 413, 415
_SEE_OTHER = 303
_ROLES: Mapping[Need, str] = {
    "nothing": "",
    "look": "a device",
    "bench": "the bench",
    "owner": "the owner of the shop",
    "let go": "a device that was let go",
}


class Door:
    """Lets in, or says why not."""

    def __init__(self, app: ASGIApp, doorway: Doorway) -> None:
        self._app = app
        self._doorway = doorway

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self._app(scope, receive, send)
            return
        headers: dict[bytes, str] = {name: value.decode("latin-1") for name, value in scope["headers"]}
        hosts = [value for name, value in scope["headers"] if name == b"host"]
        answer = self._shut(scope, headers, len(hosts))
        if answer is not None:
            await answer(scope, receive, send)
            return
        if scope["method"] in _READS:
            await self._app(scope, receive, send)
            return
        try:
            await self._app(scope, bounded(receive, most_bytes(headers.get(b"content-type", ""), scope["path"])), send)
        except HTTPException as fault:
            await nothing_there(Request(scope), fault)(scope, receive, send)

    def _shut(self, scope: Scope, headers: Mapping[bytes, str], hosts: int) -> Response | None:
        """Why it stays shut; None where it opens, and who comes in is known."""
        request = Request(scope)
        method, path = scope["method"], scope["path"]
        host = headers.get(b"host", "")
        if hosts != 1 or host_name(host) not in self._doorway.names:
            words = "asked under a name that is none of this shelf's"
            mend = "Type the address that the shelf tells; loomwright serve --lan --name NAME adds one"
            return _told(request, words, "its own addresses", _ASKED_AMISS, mend)
        if method not in _METHODS:
            return _told(request, "this address is not asked in that way", "GET or POST", _NO_SUCH_WAY, "")
        client = scope.get("client")
        visitor, gone = self._who(client[0] if client else "", headers)
        scope.setdefault("state", {}).update(visitor=visitor, let_go=gone)
        need = need_of(method, path)
        hands_in = need == "let go" and gone is not None and gone.role != "look"
        if not hands_in and not may(visitor, need):
            return self._not_let_in(request, visitor, gone, need)
        if method in _READS:
            return None
        if not is_from_us(
            host=host,
            scheme=scope["scheme"],
            origin=headers.get(b"origin"),
            site=headers.get(b"sec-fetch-site"),
            needs_proof=visitor is None or bool(visitor.device),
        ):
            words = "a change that no page of this shelf sent"
            return _told(request, words, "a page of this shelf", _NOT_THEIRS, "Open the page here and do it there")
        return _amiss(request, headers)

    def _who(self, address: str, headers: Mapping[bytes, str]) -> tuple[Visitor | None, Device | None]:
        """Who comes in; beside it the device that was let go, where that is who asks."""
        if comes_from_here(address, headers):
            return Visitor(name=self._doorway.who, role="owner"), None
        lan = self._doorway.lan
        device = None if lan is None else _device(lan, headers.get(b"cookie", ""))
        if lan is None or device is None:
            return None, None
        if not lan.devices.is_in(device):
            return None, None if device.ended_s is None else device
        lan.devices.seen(device)
        return Visitor(name=device.name, role=device.role, device=device.id), None

    def _not_let_in(self, request: Request, visitor: Visitor | None, gone: Device | None, need: Need) -> Response:
        lan = self._doorway.lan
        if visitor is not None and need == "let go":
            words = f"{visitor.name} is let in as {visitor.role_word}, and this is for {_ROLES[need]}"
            return _told(request, words, _ROLES[need], _NOT_THEIRS, "Send it the usual way")
        if lan is None:
            words = "asked from elsewhere"
            mend = "Start it with loomwright serve --lan to let devices of the shop in"
            return _told(request, words, "this machine alone", _NOT_THEIRS, mend)
        if visitor is None:
            path = request.url.path + (f"?{request.url.query}" if request.url.query else "")
            if request.method in _READS and not path.startswith("/api/"):
                return RedirectResponse(f"/pair?to={quote(path, safe='')}", _SEE_OTHER)
            mend = "Ask the owner of the shop for a code and open /pair"
            answer = _told(request, "a device that is not let in, or not any more", "a device", _UNKNOWN, mend)
            answer.headers["WWW-Authenticate"] = "Pairing" if gone is None else 'Pairing standing="let go"'
            return answer
        lan.devices.note("refused", visitor.name, f"{request.method} {request.url.path}")
        mend = f"Ask the owner of the shop to make {visitor.name} {_ROLES[need].removeprefix('the ')}"
        words = f"{visitor.name} is let in as {visitor.role_word}, and this is for {_ROLES[need]}"
        return _told(request, words, "to look" if not visitor.may_change else "to work at jobs", _NOT_THEIRS, mend)


def _device(lan: Lan, cookie: str) -> Device | None:
    """The device whose session a cookie holds, in or not."""
    name = cookie_name(lan.key, is_secure=lan.is_secure)
    if name not in cookie:
        return None
    try:
        held = SimpleCookie(cookie).get(name)
    except CookieError:
        return None
    session = session_of(held.value, lan.key) if held is not None else None
    device = lan.devices.of(session.device) if session is not None else None
    return device if session is not None and device is not None and device.digest == session.digest else None


def _amiss(request: Request, headers: Mapping[bytes, str]) -> Response | None:
    """Why what is sent is not even read."""
    sort, length = headers.get(b"content-type", ""), headers.get(b"content-length", "")
    has_body = b"transfer-encoding" in headers or length not in ("", "0")
    if has_body and not is_known_sort(sort, request.url.path):
        allowed = "JSON or files" if request.url.path.startswith("/api/") else "a form"
        return _told(request, f"what was sent is {sort[:40] or 'of no sort'}", allowed, _NO_SUCH_SORT, "")
    most = most_bytes(sort, request.url.path)
    if length.isdecimal() and int(length) > most:
        words = f"{words_of(int(length))} sent"
        return _told(request, words, f"at most {words_of(most)}", _TOO_LARGE, "Send it in smaller pieces")
    return None


def _told(request: Request, found: str, allowed: str, status: int, mend: str) -> Response:
    problem = Problem(sheet="", row=None, column="", found=found, allowed=allowed, mend=mend)
    return refused(request, BadDocument((problem,)), status=status)
