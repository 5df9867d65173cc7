"""How warm do wires get that lie together in a bundle?

In: the wires, what each carries at the same moment, the bundle's diameter. Out: every copper temperature and the
bundle's surface. The bundle is a round rod of one stuff, each wire a line of heat in it, its surface at one
temperature:

    T_i = T_s + sum_j G_ij q_j + Theta_i q_i,   q_i = I_i^2 R20_i (234.5 + T_i) / 254.5,   sum q = lost(T_s)
    G_ij = ln(|D^2/4 - z_i z_j*| / (D/2 |z_i - z_j|)) / (2 pi k),   G_ii: |z_i - z_i| is the wire's own radius

z: where each wire lies. All of it is a straight line in T_s, so one set of equations is solved and one root sought.
With every wire loaded alike the middle of the rod is q / (4 pi k) above its surface. One wire alone in its own ring is
`one_wire`. Nobody knows where in a bundle a wire ends up, so the warmest are laid inmost (`laid`): the safe side.

Limits: a long bundle with air round it; k is typical. A bundle on a cold body is cooler, one against a hot pipe warmer.
Source: the potential of a line source in a round rod, worked out; k: `constants.csv`. Covering: its wall conducts as
insulation does.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loomwright.heat.one_wire import MELT_C, WireBodies, root_between
from loomwright.heat.still_air import Around, Floats, lost_w_per_m
from loomwright.refusals import OutOfReach
from loomwright.tables.constants import constant

__all__ = ["CrowdHeat", "crowd_heat", "laid"]

_AT_C = 20.0
_GOLDEN = np.pi * (3.0 - np.sqrt(5.0))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CrowdHeat:
    """A bundle that has settled. copper_c: of each wire, `inf` where it does not settle. [C]   surface_c: outside. [C]

    heat_w_per_m: of all wires together. [W/m]
    """

    copper_c: Floats
    surface_c: float
    heat_w_per_m: float

    @property
    def warmest(self) -> int:
        """Which wire is the warmest: its place in the list. [-]"""
        return int(np.argmax(self.copper_c))


def crowd_heat(
    amps: Floats, bodies: WireBodies, around: Around, *, bundle_mm: float, covering_mm: float = 0.0
) -> CrowdHeat:
    """The temperatures of a bundle whose wires carry something at the same moment.

    Args:
        amps: through each wire.
        bodies: the wires.
        around: the bundle.
        bundle_mm: diameter without covering. [mm]
        covering_mm: wall of the covering. [mm]
    Raises:
        OutOfReach: no wires, or a bundle thinner than its thickest wire.
    Example:
        >>> from loomwright.heat.one_wire import bodies_of
        >>> seven, around = bodies_of([2.5] * 7, gauge="road"), Around(ambient_c=60.0, law="morgan")
        >>> found = crowd_heat(np.full(7, 0.53 * 32.83), seven, around, bundle_mm=9.0)
        >>> round(float(found.copper_c[0]))
        106
    """
    radius = bundle_mm / 2.0
    if not len(bodies.outside_mm):
        raise OutOfReach("wires", 0, "1 or more")
    if bundle_mm < float(np.max(bodies.outside_mm)) * (1.0 - 1e-9):
        raise OutOfReach("bundle_mm", bundle_mm, f"{float(np.max(bodies.outside_mm)):g} or more")
    zero = constant("copper_zero_k")
    a = amps**2 * bodies.r20_ohm_per_m / (zero + _AT_C)
    at = laid(a, bodies.outside_mm, radius)
    resists = _green(at, bodies.outside_mm / 2.0, radius) + np.diag(bodies.wall_k_m_per_w)
    covered_mm = bundle_mm + 2.0 * covering_mm
    sheath = np.log(covered_mm / bundle_mm) / (2.0 * np.pi * constant("insulation_w_per_m_k"))
    warms = (resists + sheath) * a[None, :]
    eye = np.eye(len(a)) - warms
    known = np.column_stack((np.ones(len(a)), warms.sum(axis=1) * zero))
    slope, base = np.linalg.solve(eye, known).T
    # heat makes heat: where that has no end the answer turns over
    settles = bool(np.all(slope >= 1.0 - 1e-9))
    each_k, from_zero = float(a @ slope), float(a @ (zero + base))

    def beyond(surface_c: Floats) -> Floats:
        lost = lost_w_per_m(surface_c, np.array([covered_mm]), around)
        return lost - (from_zero + each_k * surface_c)

    low, high = np.array([around.ambient_c]), np.array([MELT_C])
    surface, found = root_between(beyond, low, high)
    surface_c = float(surface[0])
    copper_c = base + slope * surface_c
    if not (settles and bool(found[0]) and float(np.max(copper_c)) <= MELT_C):
        return CrowdHeat(copper_c=np.full_like(a, np.inf), surface_c=np.inf, heat_w_per_m=np.inf)
    return CrowdHeat(copper_c=copper_c, surface_c=surface_c, heat_w_per_m=from_zero + each_k * surface_c)


def laid(heats: Floats, outside_mm: Floats, radius: float) -> Floats:
    """Where each wire lies: the warmest inmost, spread like the seeds of a sunflower by the room each takes.

    Args:
        heats: what each gives, in any unit. [-]
        outside_mm: of the wires. [mm]
        radius: of the bundle. [-]
    """
    order = np.argsort(-heats, kind="stable")
    area = outside_mm[order] ** 2
    inside = np.cumsum(area) - area / 2.0
    out = radius * np.sqrt(inside / float(np.sum(area)))
    out[0] = 0.0 if len(out) != 2 else out[0]
    out = np.minimum(out, radius - outside_mm[order] / 2.0)
    turn = np.arange(len(out)) * _GOLDEN
    at = np.empty((len(out), 2))
    at[order] = out[:, None] * np.column_stack((np.cos(turn), np.sin(turn)))
    return at


def _green(at: Floats, own_mm: Floats, radius: float) -> Floats:
    """What a watt a metre in wire j warms wire i above the surface. [K m/W]"""
    z = at[:, 0] + 1j * at[:, 1]
    apart = np.abs(z[:, None] - z[None, :])
    touching = own_mm[:, None] + own_mm[None, :]
    apart = np.maximum(apart, np.minimum(touching, 2.0 * radius))
    np.fill_diagonal(apart, own_mm)
    mirrored = np.abs(radius**2 - z[:, None] * np.conj(z[None, :]))
    return np.asarray(
        np.maximum(np.log(mirrored / (radius * apart)), 0.0) / (2.0 * np.pi * constant("bundle_w_per_m_k"))
    )
