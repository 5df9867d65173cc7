"""Air for fuels and blends, moist air and an injector's pulse, beside a program for mixtures and for steam."""

from __future__ import annotations

import cantera
import pytest

from loomwright.calibration.air import moist_kg_per_m3, vapour_kpa
from loomwright.calibration.engine import engine_of
from loomwright.calibration.fuel import air_fuel_of, blended
from loomwright.calibration.starting import efficiency, mixture, starting_numbers
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


@pytest.mark.parametrize(("shots", "most_kpa"), [(1, 100), (2, 100), (2, 180)])
def test_a_pulse_holds_the_fuel_for_the_air_the_program_weighs(gas, shots: int, most_kpa: int) -> None:
    """A six of 2.6 litres at full load: air by the program's density, its fuel by the program's atom balance."""
    said = {"displacement_cc": 2600, "cylinders": 6, "injector_cc_per_min": 380, "injector_kpa": 300, "fuel": "petrol"}
    engine = engine_of(
        {**said, "limit_rpm": 6200, "most_kpa": most_kpa, "shots": shots, "delays": [[8, 0.9], [16, 0.9]]}
    )
    got = {one.name: one.value for one in starting_numbers(engine).numbers}
    # 20 degC of air and 88 of coolant; at full flow the charge goes 0.12 of the way
    gas.TPX = 273.15 + 20.0 + 0.12 * 68.0, most_kpa * 1000.0, DRY_AIR
    air_mg = efficiency(engine, 6200.0, most_kpa) * gas.density * 2600.0 / 6.0
    fuel_mg = air_mg / mixture(engine, 6200.0, most_kpa) / gas.stoich_air_fuel_ratio("petrol:1.0", DRY_AIR)
    pulse_ms = fuel_mg / shots / (380.0 * 0.745 / 60.0) + 0.9
    assert got["pulse_full"] == pytest.approx(pulse_ms, rel=1e-3)
    # open that often in the 19.35 ms of two turns
    assert got["duty_full"] == pytest.approx(100.0 * shots * pulse_ms / (2.0 * 60_000.0 / 6200.0), rel=1e-3)
