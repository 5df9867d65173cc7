"""What do a job's sheets and its solved network say of the engine, and which numbers does it start with?

The sheet `vehicle` holds what is known of the engine, by the names of `calibration.engine`; coils and injectors are
counted and read off the sheet of parts. The volts at the controller and at a coil's feed are those of the network.
"""

from __future__ import annotations

from collections.abc import Mapping

from loomwright.calibration.engine import ENGINE, LISTS, WORDS, engine_of
from loomwright.calibration.starting import StartNumbers, Supply, starting_numbers
from loomwright.job.firing_order import firing_order_of
from loomwright.job.job import Job
from loomwright.startup.first_start import Volts
from loomwright.startup.job_facts import FANS, crank_state, facts_of, fan_contact_c, fitted_parts
from loomwright.tables.kind_settings import resolve_settings
from loomwright.tables.kinds import load_kinds

__all__ = ["ENGINE_NAMES", "numbers_of", "said_of", "supplies_of"]

ENGINE_NAMES = frozenset((*ENGINE, *WORDS, *LISTS, "fuel", "delays"))
"""Names of the sheet `vehicle` that speak of the engine."""
_STATES = (
    {"key": "start", "engine": "cranking"},
    {"key": "run", "engine": "idle"},
    {"key": "run", "engine": "running"},
)
_FEED: Mapping[str, tuple[str, str]] = {
    "coil_plain": ("15", ""),
    "coil_twin": ("15", ""),
    "coil_with_igniter": ("supply", "earth"),
}
"""Kind of a coil -> the terminal that feeds it, and that of its own earth where it has one."""
_COIL = (("mh", "coil_mh"), ("ohm", "coil_ohm"), ("peak_a", "coil_a"))
_IDLE_VALVES = ("idle_valve_2wire", "idle_valve_3wire", "idle_stepper", "throttle_electric")
_BOX = "gear.engine."
_BALLAST_V = 0.4
"""A ballast that keeps less than this while cranking is by-passed. [V]"""


def numbers_of(job: Job, volts: Volts | None = None, said: Mapping[str, object] | None = None) -> StartNumbers:
    """The numbers of a job: its engine, and the volts its network gives.

    Args:
        job: with what was decided in its blank cells.
        volts: gives the volts between two points in a state; None: the network is not looked at.
        said: what is known of the engine beside the sheets; it goes before them.
    Raises:
        BadDocument: names nobody knows, figures that cannot be meant, or no displacement.
    """
    return starting_numbers(engine_of(said_of(job) | dict(said or {})), supplies_of(job, volts))


def said_of(job: Job) -> dict[str, object]:
    """What the sheets say of the engine: properties of `vehicle`, and settings of the coils and injectors.

    Cylinders are those of the firing order; where nobody gives one, as many as injectors. Coils that fire pairs are
    charged twice as often as those that do not, so `coils` follows from the parts where it is not said.
    """
    said: dict[str, object] = {row.name: row.value for row in job.vehicle if row.name in ENGINE_NAMES and row.value}
    box = {row.name: row.value for row in job.vehicle if row.name.startswith(_BOX) and row.value}
    for name in ("idle_rpm", "limit_rpm"):
        if _BOX + name in box:
            said.setdefault(name, box[_BOX + name])
    fitted = fitted_parts(job)
    if order := firing_order_of(job):
        said.setdefault("cylinders", len(order))
    if "wasted_spark" in facts_of(job):
        said.setdefault("coils", "one a pair")
    injectors = [part for part in fitted if part.kind == "injector"]
    if injectors:
        said.setdefault("injectors", len(injectors))
        said.setdefault("cylinders", len(injectors))
        if injectors[0].settings.get("ohm"):
            said.setdefault("injector_ohm", injectors[0].settings["ohm"])
    for part in fitted:
        if part.kind in _FEED:
            for setting, name in _COIL:
                if part.settings.get(setting):
                    said.setdefault(name, part.settings[setting])
        elif part.kind == "ballast":
            said.setdefault("ballast_ohm", resolve_settings(load_kinds()["ballast"], part.settings)["ohm"])
    if injectors and not any(part.kind in _IDLE_VALVES for part in fitted):
        said.setdefault("idle_valve", "no")
    fans = sum(2 if part.kind == "fan_2speed" else 1 for part in fitted if part.kind in FANS)
    if fans or injectors:  # an engine that air cools, or a fan of its own, has no point in the controller
        said.setdefault("fans", min(fans, 4))
    if (contact := fan_contact_c(job)) is not None:
        said.setdefault("fan_contact_c", contact)
    return said


def supplies_of(job: Job, volts: Volts | None) -> tuple[Supply, ...]:
    """Volts at the controller and at a coil while cranking, idling and running, as far as the network gives them.

    Both as they are met there: the controller's from its supply to its own earth, since that is what it measures, the
    coil's from its feed to its own earth, or to the controller's where the controller earths it. While cranking the
    engine stands half a volt above the battery's post: measured against that, the wires would seem to lose it.

    Args:
        job: with what was decided in its blank cells.
        volts: between two points in a state.
    """
    fitted = fitted_parts(job)
    coil = next((part for part in fitted if part.kind in _FEED), None)
    ballast = next((part for part in fitted if part.kind == "ballast"), None)
    ends = {end for wire in job.wires for end in (wire.from_, wire.to)}
    wired = [pin for pin in job.controller_pins if f"{pin.part}.{pin.terminal}" in ends]
    pin = next((pin for pin in wired if "supply" in pin.abilities), None)
    if volts is None or coil is None or pin is None:
        return ()
    earths = (one for one in wired if one.part == pin.part and "power_earth" in one.abilities)
    ground = next((f"{one.part}.{one.terminal}" for one in earths), "")
    terminal, earth = _FEED[coil.kind]
    own, back = f"{coil.id}.{terminal}", f"{coil.id}.{earth}" if earth else ground
    feed = own if ballast is None else f"{ballast.id}.15"
    found = []
    for state in _STATES:
        held = crank_state(job, state)
        at = volts(f"{pin.part}.{pin.terminal}", ground, held), volts(feed, back, held), volts(own, back, held)
        if at[0] is None or at[1] is None or at[2] is None:
            continue
        is_past = ballast is not None and state["key"] == "start" and abs(at[1]) - abs(at[2]) < _BALLAST_V
        found.append(
            Supply(
                state=", ".join(f"{name}={value}" for name, value in held.items()),
                controller_v=abs(at[0]),
                coil_v=abs(at[2] if is_past else at[1]),
                bypass_v=abs(at[2]) if is_past else None,
            )
        )
    return tuple(found)
