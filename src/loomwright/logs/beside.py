"""Where does a recorded drive disagree with what the job's own network has?

In: a drive, its starts and idles, what the network has at the controller, in the fan and the battery's lead. Out: one
comparison for each that was recorded, and findings for currents that disagree.
LOG-39 the fan takes more or less than in the network.  LOG-44 the battery gives at warm idle where the network has it
charged.
The fan's current is the median while it has been on for a while, at the coolant it was on at; the battery's is the mean
over warm idles, positive into it. What a driver switched on is not known, so only the battery's sign is judged, with a
little room; volts are judged where they belong (LOG-12, LOG-38) and are listed here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.findings import Finding
from loomwright.logs.drive import Drive
from loomwright.logs.idling import Idle
from loomwright.logs.limits import limit_source
from loomwright.logs.spans import spans_of
from loomwright.logs.starts import Start
from loomwright.logs.steady import is_running

__all__ = ["Beside", "NetworkAmps", "SupplyVolts", "beside_findings", "beside_of"]

_SETTLE_S = 2.0
_LEAST_ROWS = 10
_LEAST_FAN_A = 1.0
_FAN, _CHARGE = "LOG-39", "LOG-44"


@dataclass(frozen=True, slots=True, kw_only=True)
class NetworkAmps:
    """A current of the network. amps: the way the wire is written.   wire: blank where several share it.

    state: the car as it stands then, in words.
    """

    amps: float
    wire: str
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyVolts:
    """What the job's network has at the controller's supply. crank_v, idle_v: across it. [V]   point: where.

    earth: the pin it is measured against; empty for the battery's earthed post.
    fan: gives the fan's current at a coolant temperature.   battery: current into the battery at idle, as its lead
    carries it.   into: 1 where the lead is written the way a charging current goes, -1 against it. [-]
    """

    point: str
    crank_v: float | None
    idle_v: float | None
    earth: str = ""
    fan: Callable[[float], NetworkAmps | None] | None = None
    battery: NetworkAmps | None = None
    into: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """One figure of the log beside the network's. log, network, allowed: in `unit`; by how much they may differ.

    is_off: they disagree.   wire: where a clamp would read it, as `amps` in that wire's own direction; blank of volts.
    """

    what: str
    rule: str
    log: float
    network: float
    allowed: float
    unit: str
    is_off: bool
    state: str
    wire: str = ""
    clamp_a: float = 0.0


def beside_of(
    drive: Drive,
    limits: Mapping[str, float],
    supply: SupplyVolts | None,
    starts: Sequence[Start],
    idles: Sequence[Idle],
) -> tuple[Beside, ...]:
    """Everything that can be compared, in order.

    Args:
        drive: as recorded.
        limits: `dip_v`, `fan_share`, `charge_slack_a`, `running_rpm`.
        supply: what the network has; nothing is compared without.
        starts: the attempts to start.
        idles: every idle.
    """
    if supply is None:
        return ()
    warm = _rows(drive, [idle for idle in idles if idle.warm])
    return (
        *_volts(drive, limits, supply, starts, warm),
        *_fan(drive, limits, supply),
        *_battery(drive, limits, supply, warm),
    )


def beside_findings(beside: Sequence[Beside]) -> tuple[Finding, ...]:
    """LOG-39 and LOG-44, of what is compared.

    Args:
        beside: as `beside_of` gives it.
    """
    made = {_FAN: _fan_finding, _CHARGE: _charge_finding}
    return tuple(made[one.rule](one) for one in beside if one.is_off and one.rule in made)


def _fan_finding(one: Beside) -> Finding:
    return Finding(
        rule="LOG-39",
        severity="warning",
        at=(one.wire,) if one.wire else (),
        label=one.what,
        wrong=f"takes other than the sheets have ({one.network:.1f} A)",
        found=one.log,
        allowed=one.network + (one.allowed if one.log > one.network else -one.allowed),
        unit="A",
        source=limit_source("fan_share"),
        mend=(
            "Less: a joint, a brush or a fuse with resistance; more: a fan that is held or worn, or another than the "
            "sheets say. Clamp its lead; fingers off: it may start with the key off"
        ),
    )


def _charge_finding(one: Beside) -> Finding:
    return Finding(
        rule="LOG-44",
        severity="warning",
        at=(one.wire,) if one.wire else (),
        label=one.what,
        wrong=f"the battery gives current, the sheets have it at {one.network:+.1f} A",
        found=one.log,
        allowed=-one.allowed,
        unit="A",
        source=limit_source("charge_slack_a"),
        mend=(
            "See what was switched on; clamp the battery's lead at idle with everything off, then belt, charge lamp "
            "and cable; never lift a battery lead with the engine running"
        ),
    )


def _volts(
    drive: Drive,
    limits: Mapping[str, float],
    supply: SupplyVolts,
    starts: Sequence[Start],
    warm: NDArray[np.bool_],
) -> Iterator[Beside]:
    cranked = [start.least_v for start in starts if start.least_v is not None]
    if cranked and supply.crank_v is not None:
        yield Beside(
            what="controller's supply while cranking, lowest",
            rule="LOG-12",
            log=min(cranked),
            network=supply.crank_v,
            allowed=limits["dip_v"],
            unit="V",
            is_off=min(cranked) < supply.crank_v - limits["dip_v"],
            state="key=start, engine=cranking",
        )
    if drive.has("battery") and supply.idle_v is not None:
        volts = drive.of["battery"][warm]
        volts = volts[np.isfinite(volts)]
        if volts.size >= _LEAST_ROWS:
            middle = float(np.median(volts))
            yield Beside(
                what="controller's supply at warm idle, middle",
                rule="LOG-38",
                log=middle,
                network=supply.idle_v,
                allowed=limits["dip_v"],
                unit="V",
                is_off=middle < supply.idle_v - limits["dip_v"],
                state="key=run, engine=idle",
            )


def _fan(drive: Drive, limits: Mapping[str, float], supply: SupplyVolts) -> Iterator[Beside]:
    if supply.fan is None or not drive.has("fan", "fan_amps"):
        return
    on = (np.nan_to_num(drive.of["fan"]) > 0.0) & is_running(drive, limits)
    settled = np.zeros(on.size, bool)
    for span in spans_of(drive, on, _SETTLE_S):
        settled[span.first + int(_SETTLE_S / drive.step_s) : span.end] = True
    settled &= np.isfinite(drive.of["fan_amps"])
    if settled.sum() < _LEAST_ROWS:
        return
    coolant = drive.of["coolant"][settled] if drive.has("coolant") else np.zeros(0, np.float32)
    coolant = coolant[np.isfinite(coolant)]
    known = supply.fan(float(np.median(coolant)) if coolant.size else limits["coolant_most_c"])
    if known is None:
        return
    taken, network = float(np.median(drive.of["fan_amps"][settled])), abs(known.amps)
    allowed = max(limits["fan_share"] * network, _LEAST_FAN_A)
    yield Beside(
        what="fan",
        rule=_FAN,
        log=taken,
        network=network,
        allowed=allowed,
        unit="A",
        is_off=abs(taken - network) > allowed,
        state=known.state,
        wire=known.wire,
        clamp_a=float(np.copysign(taken, known.amps)),
    )


def _battery(
    drive: Drive, limits: Mapping[str, float], supply: SupplyVolts, warm: NDArray[np.bool_]
) -> Iterator[Beside]:
    if supply.battery is None or not drive.has("battery_amps"):
        return
    amps = drive.of["battery_amps"][warm]
    amps = amps[np.isfinite(amps)]
    if amps.size < _LEAST_ROWS:
        return
    mean, network = float(amps.mean()), supply.into * supply.battery.amps
    yield Beside(
        what="into the battery at warm idle",
        rule=_CHARGE,
        log=mean,
        network=network,
        allowed=limits["charge_slack_a"],
        unit="A",
        is_off=mean < -limits["charge_slack_a"] and network > -limits["charge_slack_a"],
        state=supply.battery.state,
        wire=supply.battery.wire,
        clamp_a=supply.into * mean,
    )


def _rows(drive: Drive, idles: Sequence[Idle]) -> NDArray[np.bool_]:
    inside = np.zeros(drive.time_s.size, bool)
    for idle in idles:
        inside |= (drive.time_s >= idle.at_s + _SETTLE_S) & (drive.time_s <= idle.at_s + idle.lasts_s - 1.0)
    return inside
