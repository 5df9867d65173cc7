"""Under which addresses and names do other devices of the shop find this machine?"""

from __future__ import annotations

import ipaddress
import socket
from contextlib import suppress

__all__ = ["lan_names"]

_SOMEWHERE = ("192.0.2.1", 9)
"""An address that is nobody's (RFC 5737): asked which way leads there, nothing is sent."""


def lan_names() -> tuple[str, ...]:
    """Addresses first, the one that leads out before others; then the machine's name."""
    found: list[str] = []
    # no way may lead out: then the names that follow are all there is
    with suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        asking.connect(_SOMEWHERE)
        found.append(asking.getsockname()[0])
    own = socket.gethostname().lower()
    with suppress(OSError):  # the name may lead nowhere
        found += [str(told[4][0]) for told in socket.getaddrinfo(own, None, socket.AF_INET)]
    addresses = [one for one in dict.fromkeys(found) if not ipaddress.ip_address(one).is_loopback]
    return (*addresses, own, *(() if "." in own else (f"{own}.local",)))
