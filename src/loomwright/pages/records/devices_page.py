"""What does the owner of the shop see of the devices that are let in?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from types import MappingProxyType

from loomwright.drawings.square_code import square_code
from loomwright.instruments.meter import PYTHON_VISA
from loomwright.instruments.shop_meters import MAKERS_VISA, ShopMeter
from loomwright.pages.doors.doorway import Doorway
from loomwright.pages.doors.pairing import CODE_LIFE_S
from loomwright.pages.doors.visitor import ROLE_WORDS
from loomwright.pages.left_behind import told_of_aside
from loomwright.refusals import Problem
from loomwright.store.devices import ROLES, BookLine, Device, Role
from loomwright.store.set_aside import SetAside

__all__ = [
    "AsideShown",
    "BookShown",
    "CodeShown",
    "DeviceLine",
    "DevicesPage",
    "MeterLine",
    "RoleChoice",
    "code_shown",
    "devices_page",
]

_NOTHING: Mapping[str, str] = MappingProxyType({})
_QUIET = 4
_MOST_PAST = 10
_ROLE_HELP = {
    "owner": "lets devices in and go, and works at every job",
    "bench": "works at every job",
    "look": "sees everything, changes nothing",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class RoleChoice:
    """One role that can be given."""

    role: Role
    word: str
    help: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceLine:
    """One device. standing: in, lapsed or let go, in words. times: of the shelf's sort."""

    id: str
    name: str
    role: Role
    role_word: str
    since: str
    seen: str
    until: str
    standing: str
    is_this: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CodeShown:
    """A code as it is shown. side: of the square with its quiet edge. [-]   dark: its dark squares as a path.

    minutes: how long it lives. [-]
    """

    code: str
    role_word: str
    address: str
    side: int
    dark: str
    minutes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BookShown:
    """One line of the book of the door."""

    time: str
    what: str
    who: str
    about: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AsideShown:
    """What a device left behind that was let go. says: how many records of which jobs, and what they say."""

    id: str
    name: str
    time: str
    many: int
    says: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterLine:
    """One meter of the shop. reached: by what, in words.   field: id of the field it is tried in."""

    name: str
    address: str
    reached: str
    field: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DevicesPage:
    """What the page places. is_open: devices can be let in.   typed: what comes back in the form of a meter."""

    is_open: bool
    addresses: tuple[str, ...]
    fingerprint: str
    has_authority: bool
    roles: tuple[RoleChoice, ...]
    devices: tuple[DeviceLine, ...]
    past: tuple[DeviceLine, ...]
    aside: tuple[AsideShown, ...]
    book: tuple[BookShown, ...]
    code: CodeShown | None
    meters: tuple[MeterLine, ...]
    makers_visa: str
    typed: Mapping[str, str]
    problems: tuple[Problem, ...]


def devices_page(
    doorway: Doorway,
    devices: Sequence[Device],
    book: Sequence[BookLine],
    *,
    now_s: float,
    this: str,
    aside: Sequence[SetAside] = (),
    code: CodeShown | None = None,
    meters: Sequence[ShopMeter] = (),
    typed: Mapping[str, str] = _NOTHING,
    problems: tuple[Problem, ...] = (),
) -> DevicesPage:
    """The page of devices.

    Args:
        now_s: seconds since 1970. [s]
        this: the device that asks; empty for the machine itself.
        aside: what devices left behind that were let go.
        code: one that was made just now.
        meters: of the shop.
        typed: what comes back in the form of a meter.
        problems: why something was not done.
    """
    lan = doorway.lan
    lines = [_line(one, now_s, this) for one in devices]
    return DevicesPage(
        is_open=lan is not None,
        addresses=() if lan is None else lan.addresses,
        fingerprint="" if lan is None else lan.fingerprint,
        has_authority=lan is not None and bool(lan.authority),
        roles=tuple(RoleChoice(role=role, word=ROLE_WORDS[role], help=_ROLE_HELP[role]) for role in ROLES),
        devices=tuple(line for line in lines if line.standing == "in"),
        past=tuple(line for line in lines if line.standing != "in")[:_MOST_PAST],
        aside=_aside(lines, aside),
        book=tuple(BookShown(time=_time(one.at_s), what=one.what, who=one.who, about=one.about) for one in book),
        code=code,
        meters=tuple(_meter(one, number) for number, one in enumerate(meters)),
        makers_visa=MAKERS_VISA,
        typed=typed,
        problems=problems,
    )


def code_shown(code: str, role: Role, address: str) -> CodeShown:
    """A code with the square that brings a camera to the page that takes it.

    The code stands behind the `#`, which no browser sends: it is in no log and no address that is passed on.

    Args:
        address: of the shelf, ending with a stroke.
    """
    rows = square_code(f"{address}pair#{code.replace('-', '')}")
    dark = "".join(
        f"M{x + _QUIET} {y + _QUIET}h1v1h-1z" for y, row in enumerate(rows) for x, is_dark in enumerate(row) if is_dark
    )
    return CodeShown(
        code=code,
        role_word=ROLE_WORDS[role],
        address=f"{address}pair",
        side=len(rows) + 2 * _QUIET,
        dark=dark,
        minutes=round(CODE_LIFE_S / 60),
    )


def _meter(one: ShopMeter, number: int) -> MeterLine:
    reached = (
        "its maker's VISA" if one.visa == MAKERS_VISA else "VISA of our own" if one.visa == PYTHON_VISA else one.visa
    )
    return MeterLine(name=one.name, address=one.address, reached=reached, field=f"try-{number}")


def _aside(lines: Sequence[DeviceLine], aside: Sequence[SetAside]) -> tuple[AsideShown, ...]:
    found = []
    for line in lines:
        own = [one for one in aside if one.device == line.id]
        if own:
            many = sum(one.many for one in own)
            says = tuple(dict.fromkeys(f"{one.job}: {one.says}" for one in told_of_aside(own)))
            found.append(AsideShown(id=line.id, name=line.name, time=_time(own[-1].came_s), many=many, says=says))
    return tuple(found)


def _line(device: Device, now_s: float, this: str) -> DeviceLine:
    standing = "in" if device.is_in(now_s) else "lapsed" if device.ended_s is None else "let go"
    return DeviceLine(
        id=device.id,
        name=device.name,
        role=device.role,
        role_word=ROLE_WORDS[device.role],
        since=_time(device.since_s),
        seen=_time(device.seen_s),
        until=_time(device.until_s),
        standing=standing,
        is_this=device.id == this,
    )


def _time(at_s: float) -> str:
    return datetime.fromtimestamp(at_s, UTC).isoformat(timespec="seconds")
