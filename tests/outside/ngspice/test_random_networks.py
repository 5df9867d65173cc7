"""Fifty random networks beside ngspice: every law in at least ten of them, in every state of their own."""

from __future__ import annotations

from collections import Counter
from itertools import product
from pathlib import Path
from random import Random

from loomwright.network.compiled import compile_network
from loomwright.network.records import Law
from loomwright.network.settle import SETTLED
from loomwright.network.solve import solve_many, values_of
from loomwright.writers.netlist import netlist
from tests.network.random_networks import MODES, random_network
from tests.outside.checked_page import Checked
from tests.outside.ngspice.cars import devices_of
from tests.outside.ngspice.simulator import VOLTS_TOLERANCE, Beside, beside, run, truly_floating, version
from tests.outside.ngspice.test_demo_car import LEFT_OUT, margin_row, worst_of

NETWORKS = 50
AT_LEAST = 10
LAWS_EACH = 4


def test_50_random_networks_agree_with_ngspice(
    ngspice: str, tmp_path: Path, told: list[str], checked: list[Checked]
) -> None:  # fmt: skip
    rng = Random(50)
    seen: Counter[Law] = Counter()
    gated = 0
    many: list[Beside] = []
    astray: list[tuple[int, str]] = []
    unsolved: list[int] = []
    for count in range(NETWORKS):
        laws = [law for law in Law if law != Law.LINEAR]
        network = random_network(rng, rng.sample(laws, LAWS_EACH), relays=count % 3)
        compiled = compile_network(network)
        seen.update({element.law for element in network.elements})
        gated += bool(network.devices)
        state = {"mode": rng.choice(MODES), "ambient_c": rng.choice(("-10", "40"))}
        batch = solve_many(compiled, values_of(compiled, state)[None, :])
        assert batch.status[0] == SETTLED, (count, state)
        on = devices_of(compiled, batch)
        made = netlist(network, state, devices=on)
        answers = run(ngspice, made, tmp_path)
        if answers is None:
            unsolved.append(count)
            continue
        many.append(beside(compiled, batch, made, answers))
        ours = {point for point, k in compiled.node_of.items() if batch.floating[0, k]}
        astray += [(count, point) for point in ours ^ truly_floating(compiled, made, answers, on)]
    worst = worst_of(many)
    told.append(
        f"random networks, {len(many)}: {worst.compared} node volts, worst {worst.volts * 1000:.3f} mV at "
        f"{worst.volts_at}; currents at most {worst.amps:.2f} of their tolerance, at {worst.amps_at}; "
        f"left out {worst.left_out / (worst.compared + worst.left_out):.2%}; {len(unsolved)} not solved by ngspice; "
        f"laws: {', '.join(f'{law.name.lower()} in {seen[law]}' for law in Law)}; relays in {gated}"
    )
    assert unsolved == []
    assert min(seen[law] for law in Law) >= AT_LEAST, seen
    assert gated >= AT_LEAST
    assert worst.left_out <= LEFT_OUT * (worst.compared + worst.left_out)
    assert astray == []
    assert worst.volts <= VOLTS_TOLERANCE, worst
    assert worst.amps <= 1.0, worst
    checked.append(margin_row(f"{NETWORKS} random networks", worst.compared, worst, version(ngspice)))


def test_two_networks_of_one_seed_are_the_same_and_of_two_are_not() -> None:
    one, again, other = (random_network(Random(seed)) for seed in (1, 1, 2))
    assert one == again
    assert one != other
    assert len(list(product(one.variables[0].values, one.variables[1].values))) == 6
