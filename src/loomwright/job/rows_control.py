"""The sheets of the controller and of what is asked: pins, needs, drives, requirements, own kinds, waivers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.job.columns import column
from loomwright.job.conditions import ALWAYS, Condition, Must
from loomwright.job.row import Row

__all__ = ["ControllerPin", "Drive", "KindRow", "Need", "Requirement", "VariableRow", "Waiver"]

_IDLE_STATES = "open|low|high"


@dataclass(frozen=True, slots=True, kw_only=True)
class ControllerPin(Row):
    """One controller pin and what it can do. boot, unpowered: what it is while starting up, and without supply."""

    id: str = column("id", "short name of the pin", key=True)
    part: str = column("ref", "the controller", refers="parts", required=True)
    terminal: str = column("text", "the terminal, as printed on the plug", required=True)
    abilities: tuple[str, ...] = column("words", "what the pin can do, the usual one first", table="abilities")
    max_a: float | None = column("number", "most amps it carries", least=1e-6, most=1000.0)
    pull_up_ohm: float | None = column("number", "pull-up inside the controller", least=0.001, most=1e9)
    pull_up_v: float | None = column("number", "volts behind the pull-up", least=0.0, most=100.0)
    pwm_hz: float | None = column("number", "highest switching rate", least=0.0, most=1e7)
    active: str = column("word", "side it switches to", allowed="low|high")
    boot: str = column("word", "what it is while the controller starts", allowed=_IDLE_STATES)
    unpowered: str = column("word", "what it is without supply", allowed=_IDLE_STATES)
    clamp_v: float | None = column(
        "number", "volts at which it clamps a coil's spike; kept, no answer rests on it", least=0.1, most=2000.0
    )
    recirculates_to: str = column("text", "terminal or supply its freewheel diode leads to")
    bank: str = column("text", "name shared by pins of one driver bank")
    bank_max_a: float | None = column("number", "most amps of the bank together", least=1e-6, most=1000.0)
    pair: str = column("text", "the other pin of a bridge")
    notes: str = column("text", "anything worth knowing")


@dataclass(frozen=True, slots=True, kw_only=True)
class Need(Row):
    """One thing the controller must do or sense. option: group/alternative, one alternative of a group is built."""

    id: str = column("id", "short name of the need", key=True)
    does: str = column("text", "what it does, in words")
    part: str = column("ref", "the part it drives or senses", refers="parts")
    terminal: str = column("text", "that part's terminal")
    ability: str = column("word", "what the pin must be able to do", table="abilities")
    option: str = column("text", "group/alternative: idle/stepper")
    rank: int | None = column("count", "1 is wanted most", least=0, most=1_000_000)
    prefer: tuple[str, ...] = column("list", "pins it would rather have")
    pin: str = column("text", "the pin it must have")
    together: tuple[str, ...] = column("refs", "needs that must share its bank or plug", refers="needs")
    apart: tuple[str, ...] = column("refs", "needs that must not", refers="needs")
    load_a: float | None = column("number", "amps through its pin; blank: as its part draws", least=0.0, most=1000.0)
    pwm_hz: float | None = column("number", "switching rate it asks for", least=0.0, most=1e7)
    active: str = column("word", "side its pin must switch to", allowed="low|high")
    notes: str = column("text", "anything worth knowing")


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive(Row):
    """When a controller output is on. output: a pin or a need. duty_frac: share of the time, all of it where blank."""

    output: str = column("text", "the pin or the need that is driven", required=True)
    when: Condition = column("condition", "condition, always or never", required=True)  # noqa: RUF009
    duty_frac: float | None = column("number", "share of the time it is on", least=0.0, most=1.0)
    for_s: float | None = column("number", "how long it stays on", least=0.0, most=1e6)
    notes: str = column("text", "anything worth knowing")


@dataclass(frozen=True, slots=True, kw_only=True)
class Requirement(Row):
    """What must hold at a point while a condition does."""

    id: str = column("id", "short name of the requirement", key=True)
    point: str = column("text", "part.terminal, a metal, or a wire where amps are asked", required=True)
    when: Condition = column("condition", "when it is asked; blank: always", blank=ALWAYS)  # noqa: RUF009
    must: Must = column("must", "live, dead, floating, >= 9 V, <= 15 A", required=True)  # noqa: RUF009
    why: str = column("text", "what goes wrong where it does not hold")


@dataclass(frozen=True, slots=True, kw_only=True)
class KindRow(Row):
    """One element of a kind made for this job; without an element it declares terminals or settings."""

    kind: str = column("id", "name of the new kind", required=True)
    element: str = column("text", "name of the element; blank: terminals and settings are declared")
    type: str = column("text", "type of the element: resistor, lamp, motor ...")
    terminals: tuple[str, ...] = column("list", "terminals it lies between, or those the kind has")
    settings: Mapping[str, str] = column("settings", "name=value; name=value")


@dataclass(frozen=True, slots=True, kw_only=True)
class VariableRow(Row):
    """A state variable of the job's own. A name that ends with a unit (`oil_kpa`) is a figure, any other has words."""

    name: str = column("text", "name of the variable", key=True)
    values: tuple[str, ...] = column("list", "its values, the one at rest first")
    rest: str = column("text", "its value at rest; blank: the first")
    order: tuple[str, ...] = column("list", "its values as they follow each other; blank: as listed")
    momentary: tuple[str, ...] = column("list", "values that spring back")
    notes: str = column("text", "anything worth knowing")


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiver(Row):
    """A rule switched off in this job, at one point or everywhere, and why."""

    rule: str = column("text", "code of the rule: SUP-2", required=True)
    point: str = column("text", "where it is switched off; blank: everywhere")
    reason: str = column("text", "why that is right in this car", required=True)
    who: str = column("text", "who answers for it")
