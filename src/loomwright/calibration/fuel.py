"""How much air does a fuel need, and a blend of two, and what does a gauge of mixture really say?

A fuel of C, H, O atoms burns with a = c + h/4 - o/2 mols of oxygen; air that brings one mol of it weighs 138.288 g, so

    air-fuel ratio = a * 138.288 / M.

Air demand adds by mass; pump labels are by volume, so volumes are turned to masses with the densities first. A probe
measures lambda; "AFR" on a gauge is lambda times one fixed number, whatever the fuel.

Source: atom balance; atomic masses and the composition of air from memory (`start_figures.csv`, `fuels.csv`).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from loomwright.refusals import OutOfReach
from loomwright.tables.start_figures import FuelMade, figure, fuels_made

__all__ = ["Fuel", "air_fuel_of", "blended", "fuel_called", "lambda_of_gauge"]

_ETHANOL_BLEND = re.compile(r"[eE]([0-9]{1,3})")
_PERCENT = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Fuel:
    """A fuel as it comes from the pump.

    air_fuel: grams of air that burn one gram of it. [-]   density_kg_per_l: as a liquid.
    ethanol_frac: share of its mass that is ethanol.
    """

    name: str
    air_fuel: float
    density_kg_per_l: float
    ethanol_frac: float = 0.0


def air_fuel_of(made: FuelMade) -> float:
    """Grams of dry air that burn one gram of a fuel. [-]

    Raises:
        OutOfReach: it takes up no oxygen, so it is no fuel.
    Example:
        >>> round(air_fuel_of(fuels_made()["iso_octane"]), 2)
        15.13
    """
    oxygen_mol = made.carbon + made.hydrogen / 4.0 - made.oxygen / 2.0
    if oxygen_mol <= 0.0:
        raise OutOfReach("fuel", made.name, "atoms that take up oxygen when they burn")
    grams = (
        made.carbon * figure("carbon_g_per_mol")
        + made.hydrogen * figure("hydrogen_g_per_mol")
        + made.oxygen * figure("oxygen_g_per_mol")
    )
    return oxygen_mol * figure("air_g_per_mol_oxygen") / grams


def blended(volume_frac: float, added: str = "ethanol", into: str = "petrol") -> Fuel:
    """A blend of two fuels, by the volume share of the one that is added.

    Args:
        volume_frac: share of the volume, as pump labels say it. [0..1]
        added, into: names of `fuels.csv`.
    Raises:
        OutOfReach: a share outside 0 to 1, or a fuel that has no row or is a gas.
    Example:
        >>> e10 = blended(0.10)
        >>> round(e10.air_fuel, 2), round(e10.ethanol_frac, 3)
        (14.01, 0.105)
    """
    if not 0.0 <= volume_frac <= 1.0:
        raise OutOfReach("share of the volume", volume_frac, "0 to 1")
    first, second = _plain(added), _plain(into)
    density = volume_frac * first.density_kg_per_l + (1.0 - volume_frac) * second.density_kg_per_l
    mass_frac = volume_frac * first.density_kg_per_l / density
    ratio = mass_frac * first.air_fuel + (1.0 - mass_frac) * second.air_fuel
    name = f"{volume_frac * _PERCENT:g} % {added} in {into}"
    ethanol = mass_frac if added == "ethanol" else 0.0
    return Fuel(name=name, air_fuel=ratio, density_kg_per_l=density, ethanol_frac=ethanol)


def fuel_called(name: str) -> Fuel:
    """A fuel by its name: a row of `fuels.csv`, or `E` with the share of ethanol by volume in percent.

    Raises:
        OutOfReach: no such fuel.
    Example:
        >>> round(fuel_called("E85").air_fuel, 2)
        9.8
    """
    match = _ETHANOL_BLEND.fullmatch(name.strip())
    if match and float(match.group(1)) <= _PERCENT:
        blend = blended(float(match.group(1)) / _PERCENT)
        return Fuel(
            name=f"E{float(match.group(1)):g}",
            air_fuel=blend.air_fuel,
            density_kg_per_l=blend.density_kg_per_l,
            ethanol_frac=blend.ethanol_frac,
        )
    return _plain(name.strip())


def lambda_of_gauge(reading: float, scale: float, fuel: Fuel) -> tuple[float, float]:
    """What a gauge of air-fuel ratio means: lambda, and the ratio that this fuel really has.

    Args:
        reading: what the gauge shows. [-]
        scale: the one number its lambda was multiplied by, 14.7 on most. [-]
        fuel: what is burnt.
    Raises:
        OutOfReach: a reading or a scale that is not above nothing.
    Example:
        >>> [round(each, 3) for each in lambda_of_gauge(12.5, 14.7, fuel_called("E85"))]
        [0.85, 8.337]
    """
    if not (reading > 0.0 and scale > 0.0):
        raise OutOfReach("gauge", f"{reading:g} on a scale of {scale:g}", "figures above nothing")
    mixture = reading / scale
    return mixture, mixture * fuel.air_fuel


def _plain(name: str) -> Fuel:
    made = fuels_made().get(name)
    liquid = [each.name for each in fuels_made().values() if each.density_kg_per_l is not None]
    if made is None or made.density_kg_per_l is None:
        raise OutOfReach("fuel", name, f"{', '.join(liquid)}, or E10, E85 and the like")
    ratio = air_fuel_of(made)
    ethanol = 1.0 if name == "ethanol" else 0.0
    return Fuel(name=name, air_fuel=ratio, density_kg_per_l=made.density_kg_per_l, ethanol_frac=ethanol)
