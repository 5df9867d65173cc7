"""Which sensors does this job have at its controllers, and what pull-up stands at the pin each of them is wired to?

In: the sheets of parts, wires, needs and pins. A sensor belongs to the pin that one of its wires ends at, or that a row
of `needs` gives it; a pin that has a pull-up and one for temperatures goes before others. Somebody who types a sensor's
name, or its part's, then need not know what is behind the plug.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from loomwright.job.job import Job
from loomwright.job.rows import ControllerPin
from loomwright.startup.job_facts import fitted_parts

__all__ = ["USUAL_PULL_UP_OHM", "JobSensor", "job_sensors", "pull_up_of"]

USUAL_PULL_UP_OHM = 2490.0
"""Taken where neither the job nor anybody says; met often, and no more than that. [ohm]"""
_KINDS = ("sensor_ntc", "map_iat", "sensor_0_5v")
_TWO_IN_ONE = "map_iat"
_READS = ("temperature_input", "analog_input")


@dataclass(frozen=True, slots=True, kw_only=True)
class JobSensor:
    """One sensor. part: with its terminal where two sensors share a housing.   name: as its row says.

    at: the pin that reads it, part and terminal.
    pull_up_ohm: at that pin; None where it has none or nobody says. [ohm]   is_thermistor: it is read by its ohms.
    """

    part: str
    name: str
    at: str
    pull_up_ohm: float | None
    is_thermistor: bool


def job_sensors(job: Job) -> tuple[JobSensor, ...]:
    """The sensors of a job that a controller's pin reads, thermistors first.

    Example:
        >>> job_sensors(Job())
        ()
    """
    found = []
    for part in fitted_parts(job):
        pins = list(_pins_of(job, part.id)) if part.kind in _KINDS else []
        for ability in _READS:
            at = next(((terminal, each) for terminal, each in pins if ability in each.abilities), None)
            if at is not None:
                terminal, pin = at
                found.append(
                    JobSensor(
                        part=f"{part.id}.{terminal}" if part.kind == _TWO_IN_ONE else part.id,
                        name=part.name or "",
                        at=f"{pin.part}.{pin.terminal}",
                        pull_up_ohm=pin.pull_up_ohm,
                        is_thermistor=ability == _READS[0],
                    )
                )
    return tuple(sorted(found, key=lambda one: not one.is_thermistor))


def pull_up_of(job: Job, sensor: str) -> float | None:
    """The pull-up a thermistor of the job is wired to; None where the job does not say. [ohm]

    Args:
        sensor: its part, or its name as the row says it.
    """
    word = sensor.strip().lower()
    return next(
        (
            one.pull_up_ohm
            for one in job_sensors(job)
            if one.is_thermistor and word and word in (one.part.lower(), one.name.lower())
        ),
        None,
    )


def _pins_of(job: Job, part: str) -> Iterator[tuple[str, ControllerPin]]:
    """Terminals of a part and the pins they go to."""
    pins = {f"{pin.part}.{pin.terminal}": pin for pin in job.controller_pins} | {
        pin.id: pin for pin in job.controller_pins
    }
    for wire in job.wires:
        for one, other in ((wire.from_, wire.to), (wire.to, wire.from_)):
            name, _, terminal = one.partition(".")
            if name == part and other in pins:
                yield terminal, pins[other]
    for need in job.needs:
        if need.part == part and need.pin in pins:
            yield need.terminal, pins[need.pin]
