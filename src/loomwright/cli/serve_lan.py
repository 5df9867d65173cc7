"""`loomwright serve --lan`: the door for devices of the shop, its certificate, and the first code."""

from __future__ import annotations

import sys
import time
from argparse import ArgumentParser, Namespace
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from loomwright.cli.lan_names import lan_names
from loomwright.cli.printing import show, told
from loomwright.cli.square_text import square_text
from loomwright.drawings.square_code import square_code
from loomwright.pages.doors.doorway import SESSION_S, Doorway, Lan, here_alone
from loomwright.pages.doors.origins import LOOPBACK, host_name
from loomwright.pages.doors.pairing import CODE_LIFE_S, PairingDesk
from loomwright.pages.doors.visitor import ROLE_WORDS
from loomwright.store.devices import ROLES, Devices, Role
from loomwright.store.door_certificate import Certificate, fingerprint_of, made_certificate
from loomwright.store.door_key import door_key

__all__ = ["Opening", "add_lan", "opening_of", "show_opening"]

_MOST_HOURS = 30 * 24
_HOUR_S = 3600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """How a server opens its door. code: the first, for the role that was named; empty where nobody else is let in."""

    doorway: Doorway
    address: str
    certificate: Certificate | None = None
    code: str = ""
    role: Role = "bench"

    def close(self) -> None:
        """Let go what it holds."""
        if self.doorway.lan is not None:
            self.doorway.lan.devices.close()

    def as_plain(self) -> dict[str, object]:
        """What is told to a program."""
        lan = self.doorway.lan
        if lan is None:
            return {"address": self.address}
        told: dict[str, object] = {"address": self.address, "addresses": list(lan.addresses)}
        return told | {"code": self.code, "role": self.role, "fingerprint": lan.fingerprint}


def add_lan(parser: ArgumentParser) -> None:
    """The words of letting devices in."""
    parser.add_argument("--lan", action="store_true", help="let tablets and others of the shop's network in, by a code")
    parser.add_argument(
        "--name",
        action="append",
        default=[],
        metavar="NAME",
        help="a name or address under which this machine is asked, beside those it finds; may be repeated",
    )
    parser.add_argument(
        "--pair-as",
        choices=ROLES,
        default="bench",
        metavar="ROLE",
        help=f"what the first code lets in: {', '.join(ROLES)}",
    )
    parser.add_argument(
        "--session-hours",
        type=float,
        default=SESSION_S / _HOUR_S,
        metavar="H",
        help=f"after how long a device asks for a code anew ({SESSION_S / _HOUR_S:.0f}; at most {_MOST_HOURS})",
    )
    parser.add_argument(
        "--tls-cert", default="", metavar="FILE", help="over TLS, with the shop's own certificate (PEM)"
    )
    parser.add_argument("--tls-key", default="", metavar="FILE", help="its key (PEM)")
    parser.add_argument("--tls-made", action="store_true", help="over TLS, with a certificate that is made here")


def opening_of(arguments: Namespace, folder: Path, port: int, who: str) -> Opening:
    """How the door opens, as the command line says.

    Args:
        folder: of the shelf.
        port: where it listens. [-]
        who: the person at this machine.
    Raises:
        BadDocument: a certificate that cannot be used, or words that do not go together.
    """
    if not arguments.lan:
        stray = next((word for word in ("tls_cert", "tls_key", "tls_made", "name") if getattr(arguments, word)), "")
        if stray:
            raise told(f"--{stray.replace('_', '-')} without --lan", "both or none", "Add --lan")
        return Opening(doorway=here_alone(who), address=f"http://127.0.0.1:{port}/")
    if not 0 < arguments.session_hours <= _MOST_HOURS:
        raise told(f"--session-hours {arguments.session_hours:g}", f"up to {_MOST_HOURS}", "Name another")
    given = tuple(_plain(name) for name in arguments.name)
    names = tuple(dict.fromkeys((*given, *lan_names())))
    certificate = _certificate(arguments, folder, names)
    scheme = "http" if certificate is None else "https"
    lan = Lan(
        devices=Devices(folder, time.time),
        pairing=PairingDesk(),
        key=door_key(folder),
        addresses=tuple(f"{scheme}://{name}:{port}/" for name in names),
        is_secure=certificate is not None,
        has_own_name=bool(arguments.tls_cert),
        fingerprint="" if certificate is None else certificate.fingerprint,
        authority=b"" if certificate is None else certificate.authority,
        session_s=arguments.session_hours * _HOUR_S,
    )
    doorway = Doorway(who=who, names=LOOPBACK | frozenset(names), lan=lan)
    code = lan.pairing.new_code(arguments.pair_as)
    here = f"{scheme}://127.0.0.1:{port}/"
    return Opening(doorway=doorway, address=here, certificate=certificate, code=code, role=arguments.pair_as)


def show_opening(opening: Opening) -> None:
    """Tell a person at the terminal how a device comes in."""
    lan = opening.doorway.lan
    if lan is None:
        return
    minutes = CODE_LIFE_S / 60
    show(f"Devices of the shop: {' or '.join(lan.addresses)}")
    if lan.fingerprint:
        show(f"Fingerprint of its certificate (SHA-256): {lan.fingerprint}")
    else:
        show("Without TLS whoever listens in the shop's network reads along: see --tls-made.")
    for line in square_text(
        square_code(f"{lan.addresses[0]}pair#{opening.code.replace('-', '')}"), in_colours=sys.stdout.isatty()
    ):
        show(line)
    show(f"Code for one device, {ROLE_WORDS[opening.role]}, once within {minutes:.0f} minutes: {opening.code}")
    show(f"Further codes, what a device may do, and letting one go: {opening.address}devices")


def _certificate(arguments: Namespace, folder: Path, names: tuple[str, ...]) -> Certificate | None:
    if arguments.tls_made and (arguments.tls_cert or arguments.tls_key):
        raise told("--tls-made beside --tls-cert", "one of them", "Leave one away")
    if arguments.tls_made:
        return made_certificate(folder, (*names, *LOOPBACK), datetime.now(UTC))
    if not arguments.tls_cert and not arguments.tls_key:
        return None
    if not (arguments.tls_cert and arguments.tls_key):
        raise told("a certificate without its key, or a key without it", "both", "Name both: --tls-cert --tls-key")
    own = Path(arguments.tls_cert)
    return Certificate(certificate=own, key=Path(arguments.tls_key), fingerprint=fingerprint_of(own))


def _plain(name: str) -> str:
    found = host_name(name)
    if not found or found != name.lower():
        raise told(f"--name {name}", "a name or an address, without a port", "Name it alone, as bench.local")
    return found
