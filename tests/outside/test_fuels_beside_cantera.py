"""Air that fuels and blends need, and what moist air weighs, beside a program for mixtures and for steam."""

from __future__ import annotations

import cantera
import pytest

from loomwright.calibration.air import moist_kg_per_m3, vapour_kpa
from loomwright.calibration.fuel import air_fuel_of, blended
from loomwright.tables.start_figures import fuels_made

DRY_AIR = "N2:0.78084, O2:0.20946, Ar:0.00934, CO2:0.00036"
AIR = {"N2": {"N": 2}, "O2": {"O": 2}, "Ar": {"Ar": 1}, "CO2": {"C": 1, "O": 2}}


@pytest.fixture(scope="module")
def gas():
    """Dry air and every fuel of our table as species of their own: composition only, no chemistry."""
    fuels = {name: {"C": made.carbon, "H": made.hydrogen, "O": made.oxygen} for name, made in fuels_made().items()}
    species = []
    for name, atoms in {**AIR, **fuels}.items():
        one = cantera.Species(name, {atom: count for atom, count in atoms.items() if count})
        one.thermo = cantera.ConstantCp(200.0, 3000.0, 101325.0, [298.15, 0.0, 0.0, 0.0])
        species.append(one)
    return cantera.Solution(thermo="ideal-gas", species=species)


@pytest.mark.parametrize("name", sorted(fuels_made()))
def test_the_air_a_fuel_needs_is_what_the_program_finds(gas, name: str) -> None:
    theirs = gas.stoich_air_fuel_ratio(f"{name}:1.0", DRY_AIR)
    # atomic masses of three decimals against its own
    assert air_fuel_of(fuels_made()[name]) == pytest.approx(theirs, rel=2e-5)


@pytest.mark.parametrize("share", [0.05, 0.10, 0.25, 0.85])
def test_the_air_a_blend_needs_is_what_the_program_finds(gas, share: float) -> None:
    mixed = blended(share)
    grams_per_mol = dict(zip(gas.species_names, gas.molecular_weights, strict=True))
    shares = {"ethanol": mixed.ethanol_frac, "petrol": 1.0 - mixed.ethanol_frac}
    mols = ", ".join(f"{name}:{part / grams_per_mol[name]}" for name, part in shares.items())
    theirs = gas.stoich_air_fuel_ratio(mols, DRY_AIR)
    assert mixed.air_fuel == pytest.approx(theirs, rel=2e-5)


@pytest.mark.parametrize("air_c", [5.0, 20.0, 35.0, 50.0])
def test_water_in_the_air_is_what_the_program_for_steam_finds(air_c: float) -> None:
    steam = cantera.Water()
    steam.TQ = air_c + 273.15, 0.0
    # the Magnus form against an equation of state of water
    assert vapour_kpa(air_c, 1.0) == pytest.approx(steam.P / 1000.0, rel=0.005)


@pytest.mark.parametrize("baro_kpa", [80.0, 101.325])
@pytest.mark.parametrize(("air_c", "humidity_frac"), [(-10.0, 0.5), (15.0, 0.0), (25.0, 0.6), (40.0, 0.9)])
def test_moist_air_weighs_what_the_program_for_mixtures_finds(
    baro_kpa: float, air_c: float, humidity_frac: float
) -> None:
    atoms = {**AIR, "H2O": {"H": 2, "O": 1}}
    species = []
    for name, counts in atoms.items():
        one = cantera.Species(name, counts)
        one.thermo = cantera.ConstantCp(200.0, 3000.0, 101325.0, [298.15, 0.0, 0.0, 0.0])
        species.append(one)
    air = cantera.Solution(thermo="ideal-gas", species=species)
    wet = vapour_kpa(air_c, humidity_frac) / baro_kpa
    dry = dict(part.split(":") for part in DRY_AIR.split(", "))
    shares = {name: float(share) * (1.0 - wet) for name, share in dry.items()} | {"H2O": wet}
    air.TPX = air_c + 273.15, baro_kpa * 1000.0, shares
    assert moist_kg_per_m3(baro_kpa, air_c, humidity_frac) == pytest.approx(air.density, rel=5e-4)
