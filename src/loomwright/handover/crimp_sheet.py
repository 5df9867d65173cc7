"""What is crimped, tool setting by tool setting?

In: the job with what was decided filled in. Out: one line for each terminal on each size of wire, those of one die one
after the other, so that the tool is set once; with strip, seal, the pull it must stand, and which ends. What to order
of wire and crimps beyond what the stock holds. The figures are those of `loom.bench_list`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.findings import id_order
from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.loom.bench_list import CrimpLine, bench_list
from loomwright.quantities import for_print
from loomwright.routes.bundles import Bundle

__all__ = ["NO_CRIMPS", "CrimpRow", "CrimpSheet", "crimp_sheet"]


_NO_RUNS: Mapping[str, Bundle] = FixedMap({})


@dataclass(frozen=True, slots=True, kw_only=True)
class CrimpRow:
    """One line. die: of the tool; empty where nobody wrote it.   count: how many. [-]   told: what does not fit."""

    die: str
    terminal: str
    size: str
    strip: str
    seal: str
    pull: str
    count: int
    ends: tuple[str, ...]
    told: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CrimpSheet:
    """The sheet. order: item, how much of what, what to mind."""

    crimps: tuple[CrimpRow, ...] = ()
    order: tuple[tuple[str, str, str], ...] = ()


NO_CRIMPS = CrimpSheet()
"""No new wire, and nothing is short."""


def crimp_sheet(job: Job, useless: frozenset[str] = frozenset(), runs: Mapping[str, Bundle] = _NO_RUNS) -> CrimpSheet:
    """The crimps of a job, by die.

    Args:
        job: with what was decided filled in.
        useless: wires whose piece cannot be used any more: they are cut again.
        runs: what lies in each run, for what covers it.
    Example:
        >>> from loomwright.job.rows import Wire
        >>> wire = Wire(id="W1", from_="body", to="L1.1", size_mm2=1.5, terminal_from="M6 ring", fitted="new")
        >>> made = crimp_sheet(Job(wires=(wire,)))
        >>> made.crimps[0].die, made.crimps[0].strip, made.crimps[0].ends
        ('indent, 1.5 to 2.5 mm²', '6 mm', ('W1 from',))
    """
    made = bench_list(job, useless, runs)
    rows = sorted(made.crimps, key=lambda one: (not one.die, one.die, one.size_mm2 or 0.0, id_order(one.terminal)))
    return CrimpSheet(
        crimps=tuple(_row(one) for one in rows),
        order=tuple((one.item, f"{one.amount} {one.per}" if one.amount else "open", one.mend) for one in made.order),
    )


def _row(one: CrimpLine) -> CrimpRow:
    return CrimpRow(
        die=one.die,
        terminal=f"{one.terminal} (proposed)" if one.is_proposed else one.terminal,
        size="" if one.size_mm2 is None else for_print(one.size_mm2),
        strip="" if one.strip_mm is None else f"{for_print(one.strip_mm)} mm",
        seal=one.seal or (f"{one.proposed_seal} (proposed)" if one.proposed_seal else ""),
        pull="" if one.pull_n is None else f"{for_print(one.pull_n, side='up')} N",
        count=one.count,
        ends=one.ends,
        told=one.told,
    )
