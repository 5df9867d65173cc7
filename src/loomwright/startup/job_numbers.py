"""What do a job's sheets and its solved network say of the engine, and which numbers does it start with?

The sheet `vehicle` holds what is known of the engine, by the names of `calibration.engine`; coils and injectors are
counted and read off the sheet of parts. The volts at the controller and at a coil's feed are those of the network.
"""

from __future__ import annotations

from collections.abc import Mapping

from loomwright.calibration.engine import ENGINE, LISTS, WORDS, engine_of
from loomwright.calibration.starting import StartNumbers, Supply, starting_numbers
from loomwright.job.job import Job
from loomwright.startup.first_start import Volts

__all__ = ["ENGINE_NAMES", "numbers_of", "said_of", "supplies_of"]

ENGINE_NAMES = frozenset((*ENGINE, *WORDS, *LISTS, "fuel", "delays"))
"""Names of the sheet `vehicle` that speak of the engine."""
_STATES = (
    {"key": "start", "engine": "cranking"},
    {"key": "run", "engine": "idle"},
    {"key": "run", "engine": "running"},
)
_FEED = {"coil_plain": "15", "coil_twin": "15"}
_COIL = (("mh", "coil_mh"), ("ohm", "coil_ohm"), ("peak_a", "coil_a"))


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
    """What the sheets say of the engine: properties of `vehicle`, and settings of the coils and injectors."""
    said: dict[str, object] = {row.name: row.value for row in job.vehicle if row.name in ENGINE_NAMES and row.value}
    fitted = [part for part in job.parts if part.fitted != "removed"]
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
    return said


def supplies_of(job: Job, volts: Volts | None) -> tuple[Supply, ...]:
    """Volts at the controller and at a coil while cranking, idling and running, as far as the network gives them.

    Args:
        job: with what was decided in its blank cells.
        volts: between two points in a state.
    """
    coil = next((part for part in job.parts if part.kind in _FEED and part.fitted != "removed"), None)
    ends = {end for wire in job.wires for end in (wire.from_, wire.to)}
    pins = (f"{pin.part}.{pin.terminal}" for pin in job.controller_pins if "supply" in pin.abilities)
    pin = next((name for name in pins if name in ends), "")
    if volts is None or coil is None or not pin:
        return ()
    found = []
    for state in _STATES:
        at = volts(pin, "", state), volts(f"{coil.id}.{_FEED[coil.kind]}", "", state)
        if at[0] is not None and at[1] is not None:
            words = ", ".join(f"{name}={value}" for name, value in state.items())
            found.append(Supply(state=words, controller_v=abs(at[0]), coil_v=abs(at[1])))
    return tuple(found)
