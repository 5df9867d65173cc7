"""Was it asked under our own name, and from a page of ours?

A name that is none of ours points at this address all the same when somebody's page has it changed under the browser
(DNS rebinding); a form of somebody's page reaches us with the visitor's own cookie or from the visitor's own machine
(cross-site request forgery). Browsers tell both: `Host`, `Origin` and `Sec-Fetch-Site`.

Source: RFC 9110 (Host), RFC 6454 (Origin), W3C Fetch Metadata Request Headers (Sec-Fetch-Site).
"""

from __future__ import annotations

import ipaddress
from collections.abc import Collection
from urllib.parse import urlsplit

__all__ = ["LOOPBACK", "comes_from_here", "host_name", "is_from_us", "is_loopback"]

LOOPBACK = frozenset({"127.0.0.1", "localhost", "::1"})
"""The names of the machine itself."""


def host_name(host: str) -> str:
    """The name in a Host header, without its port; empty where it is none.

    Example:
        >>> host_name("Bench.local:8140"), host_name("[::1]:8140"), host_name("a b")
        ('bench.local', '::1', '')
    """
    try:
        return (urlsplit(f"//{host}").hostname or "") if " " not in host and "@" not in host else ""
    except ValueError:
        return ""


def is_loopback(address: str) -> bool:
    """Whether an address of a client is the machine itself.

    Example:
        >>> is_loopback("127.0.0.1"), is_loopback("::ffff:127.0.0.1"), is_loopback("192.168.1.20"), is_loopback("x")
        (True, True, False, False)
    """
    try:
        there = ipaddress.ip_address(address)
    except ValueError:
        return False
    mapped = getattr(there, "ipv4_mapped", None)
    return (mapped or there).is_loopback


def comes_from_here(address: str, headers: Collection[bytes]) -> bool:
    """Whether somebody at the machine itself asks, and not a go-between there for somebody else.

    Args:
        address: of the client.
        headers: names of the request's headers, in small letters.
    """
    between = (b"forwarded", b"via", b"x-forwarded-for", b"x-forwarded-host", b"x-real-ip")
    return is_loopback(address) and not any(name in headers for name in between)


def is_from_us(*, host: str, scheme: str, origin: str | None, site: str | None, needs_proof: bool) -> bool:
    """Whether a change was sent by a page of ours.

    Args:
        host: as it was asked.
        scheme: http or https.
        origin: the browser's word for the page it came from; None where there is none.
        site: its word for how that stands to us; None where there is none.
        needs_proof: no word at all is not enough; a browser always has one for a change.

    Example:
        >>> is_from_us(host="a:1", scheme="http", origin="http://a:1", site=None, needs_proof=True)
        True
        >>> is_from_us(host="a:1", scheme="http", origin="http://b:1", site=None, needs_proof=False)
        False
    """
    if site is not None and site not in ("same-origin", "none"):
        return False
    if origin is not None:
        return origin.lower() == f"{scheme}://{host}".lower()
    return site == "same-origin" or not needs_proof
