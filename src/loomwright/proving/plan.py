"""What is measured on a new loom, in which order, and how did each test come out?

A test is one reading: where, in which state of the car, with what, and the band in which a sound car lies. Its id says
what is tested and where, so it stays the same as long as the thing does. Stages follow each other for safety: nothing
has power before it is known to be open to the body, nothing is switched on before its supply and its earth are known.
Records are rows of the sheet `proofs`; the newest of a test is its verdict, the older ones stand beside it. A record
of the car as it was before a change does not count: read at another place, or where a sound car reads otherwise now.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import inf

from loomwright.job.rows import Proof

__all__ = [
    "AIR_TEST",
    "BATTERY_TEST",
    "STAGES",
    "PlannedTest",
    "Stood",
    "TestPlan",
    "failed_before",
    "held_off",
    "stage_title",
    "state_slug",
    "stood_of",
]

STAGES: tuple[tuple[str, str], ...] = (
    ("dead", "Dead tests: battery off, controllers unplugged"),
    ("power-up", "Power-up: all fuses out, one at a time"),
    ("live", "Live tests: controllers unplugged, starter's small lead off"),
    ("earths", "Earths under load: controllers unplugged"),
    ("sensors", "Sensors against the air around them"),
    ("outputs", "Outputs one by one: controllers plugged in"),
    ("selector", "Cranking and reverse lamps, place by place"),
)
"""Word of a stage and its heading, in the order that safety fixes."""

_BEFORE_POWER = ("dead", "power-up")
"""Stages whose failed tests keep the power off."""
_NAMED = 3

BATTERY_TEST = "live/battery"
"""The first live test: what the battery stands at, which the others are held against."""


AIR_TEST = "sensor/air"
"""The first test of the sensors: the air around the car, which the others are held against."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedTest:
    """One test.

    does: what it shows, in words. point, to: where the probes sit. when: the car's state, as typed. put: what else is
    done to the car for it. measure: `volts` `ohms` `amps` `lamp` `hand` `look` `thermometer`. expected, low, high: in
    `unit`; None where a word is expected. word: that word. says: the same for a reader. caution: what can hurt here.
    wires, circuit, place: what it belongs to and where to stand. off: what is off for it, as the fault finder names it;
    None where the car is put as it does not know it.
    """

    id: str
    stage: str
    does: str
    point: str
    measure: str
    to: str = ""
    when: str = ""
    put: str = ""
    expected: float | None = None
    low: float | None = None
    high: float | None = None
    unit: str = ""
    word: str = ""
    says: str = ""
    caution: tuple[str, ...] = ()
    wires: tuple[str, ...] = ()
    circuit: str = ""
    place: str = ""
    off: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TestPlan:
    """All tests in the order in which they are made. walk_mm, turns: what that order takes.

    before_walk_mm, before_turns: what the order of ids would take. [mm] [-]
    """

    __test__ = False  # not one of pytest's, whatever its name

    tests: tuple[PlannedTest, ...]
    walk_mm: float
    turns: int
    before_walk_mm: float
    before_turns: int

    def of(self, stage: str) -> tuple[PlannedTest, ...]:
        """The tests of one stage."""
        return tuple(test for test in self.tests if test.stage == stage)

    def named(self, name: str) -> PlannedTest | None:
        """A test by its id."""
        return next((test for test in self.tests if test.id == name), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stood:
    """A test and its records. rows: oldest first; the last one counts. cold, hot: the newest of each, where told.

    before: records of the car as it was before a change, which count no more.
    """

    test: PlannedTest
    rows: tuple[Proof, ...]
    before: tuple[Proof, ...] = ()

    @property
    def verdict(self) -> str:
        """`passed`, `failed`, `not done`, or `not taken` where nobody has."""
        return self.rows[-1].verdict if self.rows else "not taken"

    @property
    def cold(self) -> Proof | None:
        """The newest record of the cold car."""
        return next((row for row in reversed(self.rows) if row.warmth == "cold"), None)

    @property
    def hot(self) -> Proof | None:
        """The newest record of the hot car."""
        return next((row for row in reversed(self.rows) if row.warmth == "hot"), None)


def stage_title(stage: str) -> str:
    """The heading of a stage.

    Example:
        >>> stage_title("selector")
        'Cranking and reverse lamps, place by place'
    """
    return dict(STAGES)[stage]


def state_slug(state: Mapping[str, str]) -> str:
    """A state as a piece of an id.

    Example:
        >>> state_slug({"key": "run", "light": "head"}), state_slug({})
        ('key.run+light.head', 'rest')
    """
    return "+".join(f"{name}.{value}" for name, value in sorted(state.items())) or "rest"


def stood_of(tests: Sequence[PlannedTest], proofs: Iterable[Proof]) -> tuple[Stood, ...]:
    """Every test with its records, in the order of the tests."""
    rows: dict[str, list[Proof]] = {}
    for proof in proofs:
        rows.setdefault(proof.test, []).append(proof)
    found = []
    for test in tests:
        mine = rows.get(test.id, [])
        standing = tuple(row for row in mine if _still_stands(test, row))
        before = tuple(row for row in mine if row not in standing)
        found.append(Stood(test=test, rows=standing, before=before))
    return tuple(found)


def failed_before(stood: Sequence[Stood], stage: str) -> tuple[str, ...]:
    """The tests of earlier stages that failed and stand so: they are mended before the car gets power for this one.

    Args:
        stood: every test with its records.
        stage: of the test in hand.
    """
    order = [name for name, _ in STAGES]
    earlier = [name for name in order[: order.index(stage)] if name in _BEFORE_POWER]
    return tuple(one.test.id for one in stood if one.test.stage in earlier and one.verdict == "failed")


def held_off(stood: Sequence[Stood], stage: str) -> tuple[str, ...]:
    """What keeps the power off for a stage, in words; nothing where no test before it has failed.

    Args:
        stood: every test with its records.
        stage: of the test in hand.
    """
    failed = failed_before(stood, stage)
    if not failed:
        return ()
    more = f" and {len(failed) - _NAMED} more" if len(failed) > _NAMED else ""
    return (f"No power yet: {', '.join(failed[:_NAMED])}{more} failed. Mend that and read it again first.",)


def _still_stands(test: PlannedTest, row: Proof) -> bool:
    """Whether a record was read where the test is now, and a sound car read nothing else then: the bands meet."""
    if row.point and {row.point, row.to} != {test.point, test.to}:
        return False
    if row.unit != test.unit and row.unit:
        return False
    then, now = (_band(row.low, row.high), _band(test.low, test.high))
    return then is None or now is None or (then[0] <= now[1] and now[0] <= then[1])


def _band(low: float | None, high: float | None) -> tuple[float, float] | None:
    return None if low is None and high is None else (-inf if low is None else low, inf if high is None else high)
