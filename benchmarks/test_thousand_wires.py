"""How long does it take to size a job of a thousand wires, every size and half the ratings blank?

Forty fuses, each with a switch, a splice behind it and twelve lamps that share the feed and an earth splice. Beside, in
the same run: the plain way, every wire's drop and ampacity looked up size by size with its own lamps' amps and its
share of the volts, behind 30 A fuses, which is what a table gives. Processor time, since others may use the machine.
"""

from __future__ import annotations

import time

import pytest

from loomwright.car import Car
from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from loomwright.refusals import OutOfReach
from loomwright.tables.ampacity import continuous_a
from loomwright.tables.conductors import ohm_per_m, sizes_mm2

BAR_S = 20.0
FUSES, LAMPS = 40, 12
COPPER_G_PER_MM3 = 0.00889
WATT, SYSTEM_V, LOST_V = 21.0, 12.0, 0.9
FEED_MM, BRANCH_MM = 1800.0, 900.0


def thousand() -> Job:
    """40 x (1 + 1 + 12 + 12 + 1) wires and two of the battery."""
    parts = [{"id": "BAT", "kind": "battery"}, {"id": "EP", "kind": "earth_point", "settings": "on=body"}]
    wires = [
        {"id": "W1", "from": "BAT.-", "to": "body", "size_mm2": "35", "length_mm": "400"},
        {"id": "W2", "from": "BAT.+", "to": "BUS.1", "size_mm2": "35", "length_mm": "400"},
    ]
    parts.append({"id": "BUS", "kind": "busbar"})
    circuits = []
    for k in range(FUSES):
        c = f"c{k}"
        circuits.append({"id": c, "class": "lighting"})
        rating = "30" if k % 2 else ""
        parts += [
            {"id": f"F{k}", "kind": "fuse", "settings": f"rating_a={rating}" if rating else ""},
            {"id": f"SW{k}", "kind": "switch", "circuit": c, "settings": "rating_a=40"},
            {"id": f"SP{k}", "kind": "splice"},
            {"id": f"SE{k}", "kind": "splice"},
        ]
        more = {"circuit": c}
        wires += [
            {"id": f"A{k}", "from": f"BUS.{k + 2}", "to": f"F{k}.1", "length_mm": "200", "size_mm2": "10", **more},
            {"id": f"B{k}", "from": f"F{k}.2", "to": f"SW{k}.1", "length_mm": "600", **more},
            {"id": f"C{k}", "from": f"SW{k}.2", "to": f"SP{k}.1", "length_mm": f"{FEED_MM:g}", **more},
            {"id": f"E{k}", "from": f"SE{k}.1", "to": "EP.1", "length_mm": "500", **more},
        ]
        for n in range(LAMPS):
            parts.append({"id": f"L{k}_{n}", "kind": "lamp", "circuit": c, "settings": f"watt={WATT:g}"})
            wires += [
                {
                    "id": f"D{k}_{n}",
                    "from": f"SP{k}.{n + 2}",
                    "to": f"L{k}_{n}.1",
                    "length_mm": f"{BRANCH_MM:g}",
                    **more,
                },
                {"id": f"G{k}_{n}", "from": f"L{k}_{n}.2", "to": f"SE{k}.{n + 2}", "length_mm": "700", **more},
            ]
    return job_from_text({"circuits": circuits, "parts": parts, "wires": wires})


def plain_g(job: Job) -> float:
    """Copper by table: each wire by its own lamps' amps, each with its share of the volts by its share of the way."""
    amps, rating_a = WATT / SYSTEM_V, 30.0
    way_mm = 600.0 + FEED_MM + BRANCH_MM + 700.0 + 500.0
    total = 0.0
    for wire in job.wires:
        if wire.size_mm2 is not None or wire.length_mm is None:
            continue
        flows = amps if wire.id[0] in "DG" else amps * LAMPS
        stands_a = rating_a if wire.id[0] in "BCD" else flows
        share_v = LOST_V * wire.length_mm / way_mm
        for size in sizes_mm2("road"):
            try:
                if size >= 0.5 and continuous_a(size, 105.0, 40.0) >= stands_a and (
                    flows * ohm_per_m(size, 60.0) * wire.length_mm / 1000.0 <= share_v
                ):  # fmt: skip
                    total += size * wire.length_mm * COPPER_G_PER_MM3
                    break
            except OutOfReach:
                continue
    return total


def test_sizes_of_a_thousand_wires(benchmark, capsys: pytest.CaptureFixture[str]) -> None:  # type: ignore[no-untyped-def]
    job = thousand()
    car = Car(job)
    assert car.scene.wires
    taken: list[float] = []

    def sized() -> None:
        begun = time.process_time()
        car.sized()
        taken.append(time.process_time() - begun)

    benchmark.pedantic(sized, rounds=1)
    found = car.sized()
    begun = time.process_time()
    table_g = plain_g(job)
    table_s = time.process_time() - begun
    open_g = sum(
        COPPER_G_PER_MM3 * one.size_mm2 * one.length_mm
        for name, one in found.wires.items()
        if name in found.decided and one.size_mm2 is not None and one.length_mm is not None
    )
    with capsys.disabled():
        print(
            f"\n{len(job.wires)} wires: {len(found.decided)} cells in {taken[0]:.1f} s of processor "
            f"(bar {BAR_S:.0f} s), {open_g:.0f} g of copper, proved {found.proved}, {len(found.unsettled)} open; "
            f"by table, nothing shared: {table_g:.0f} g in {table_s:.2f} s"
        )
    assert len(found.decided) >= 1000
    assert not found.unsettled
    assert open_g <= table_g * 1.0001
    assert taken[0] < BAR_S
