"""What stands on the page of patterns? Made-up samples of every piece, made by the same functions as the real ones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from loomwright.findings import Finding
from loomwright.handover.circuit_plan import CircuitState, LoadState
from loomwright.handover.records import Caution
from loomwright.job.job import Job
from loomwright.job.rows import Connector, Part, Wire
from loomwright.job.variables import Variable
from loomwright.pages.addresses import JobLinks
from loomwright.pages.records.car_page import CircuitLine, circuit_line
from loomwright.pages.records.finding_lines import FindingLine, line_of
from loomwright.pages.records.placing_page import SpliceLine
from loomwright.pages.records.stage_lines import Line
from loomwright.pages.records.state_strip import StateStrip, strip_of
from loomwright.refusals import Problem
from loomwright.writers.paper_paint import PAINT

__all__ = ["ICONS", "PatternsPage", "patterns_page"]

ICONS = (
    *("terminal", "splice", "eyelet", "grommet", "fuse", "strap", "key", "lever", "plug", "lamp"),
    *("meter", "thermometer", "crank", "box"),
)
"""Every drawing of the sprite."""

_TONES = (
    ("paper", "the page"),
    ("raised", "what is written into"),
    ("tint", "what is picked"),
    ("ink", "words and figures"),
    ("soft", "what the tool decided"),
    ("rule", "lines that part"),
    ("edge", "edges of controls"),
    ("copper", "energised"),
    ("vermilion", "a fault"),
    ("ochre", "a warning"),
)
_KEY = Variable(
    name="key", values=("off", "accessory", "run", "start"), rest="off", momentary=("start",), parts=("KEY",)
)
_OTHERS = (
    Variable(name="selector", values=("P", "R", "N", "D", "3", "2", "1"), rest="P"),
    Variable(name="engine", values=("stopped", "cranking", "idle", "running"), rest="stopped"),
    Variable(name="coolant_c", values=("20", "90", "96"), rest="20", numeric=True),
    Variable(name="LSW", values=("off", "side", "head"), rest="off"),
)
_FINDINGS = (
    Finding(
        rule="SNK-2",
        severity="fault",
        at=("E4", "W31"),
        when=(("key", "run"), ("lights", "head")),
        label="E4 (earth point)",
        wrong="the left dipped beam finds its earth through the right one",
        found=5.2,
        allowed=0.5,
        unit="V",
        source="common-practice",
        mend="Give E4 its own wire to the body",
        path=("W31", "W32", "W33"),
        folded=(
            Finding(
                rule="NET-3",
                severity="fault",
                at=("L4",),
                label="L4 (lamp)",
                wrong="never gets three quarters of the system's volts",
            ),
        ),
    ),
    Finding(
        rule="DRP-1",
        severity="warning",
        at=("W7",),
        when=(("engine", "idle"), ("fan", "on")),
        label="W7 (fan feed)",
        wrong="loses more on the way there and back than its class allows",
        found=1.34,
        allowed=1.2,
        unit="V",
        source="common-practice",
        mend="Use 4 mm², or bring the relay nearer",
    ),
    Finding(rule="PRO-1", severity="note", at=("W1",), label="W1 (starter cable)", wrong="has no fuse"),
)

_LAMPS = (
    LoadState(part="L1", name="left", amps=4.2, works=True),
    LoadState(part="L2", name="right", amps=0.1, works=False),
)
_CIRCUITS = tuple(
    CircuitState(
        id=name,
        name=name,
        class_="lighting",
        wires=4,
        energised=energised,
        floating=0,
        drawn_a=amps,
        carried_a=amps,
        most_wire="W1",
        loads=_LAMPS if amps else tuple(replace(one, works=False) for one in _LAMPS),
    )
    for name, energised, amps in (("dead", 0, 0.0), ("live", 2, 0.0), ("working", 4, 4.3), ("starting", 4, 150.0))
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PatternsPage:
    """Samples of every piece. tones: role -> what it is for.   colours: every one of IEC 60757 that has a paint."""

    tones: tuple[tuple[str, str], ...]
    colours: tuple[str, ...]
    icons: tuple[str, ...]
    findings: tuple[Finding, ...]
    lines: tuple[FindingLine, ...]
    wires: tuple[Wire, ...]
    strip: StateStrip
    circuits: tuple[CircuitLine, ...]
    tallies: tuple[Line, ...]
    cautions: tuple[Caution, ...]
    problems: tuple[Problem, ...]
    splices: tuple[SpliceLine, ...]
    links: JobLinks
    sizes: tuple[str, ...]


def patterns_page(key: str) -> PatternsPage:
    """The page of patterns.

    Args:
        key: where the sample's key stands; what is no position of it counts as off.
    """
    state: Mapping[str, str] = {"key": key} if key in _KEY.values and key != _KEY.rest else {}
    links = JobLinks(job="sample", offered=frozenset())
    sample = Job(
        parts=(Part(id="LSW", kind="switch_matrix", name="lamp switch"),),
        connectors=(Connector(id="X1", part="ECU"), Connector(id="X2", part="LSW")),
    )
    return PatternsPage(
        tones=_TONES,
        colours=(*PAINT, "WH/BU", "BK/WH", "RD/YE", "YE/BK", ""),
        icons=ICONS,
        findings=_FINDINGS,
        lines=tuple(line_of(one, number, links) for number, one in enumerate(_FINDINGS, start=1)),
        wires=(
            Wire(id="W104", from_="K1.87", to="fan1.+", colour="RD/WH"),
            Wire(id="W105", from_="fan1.-", to="E4.1", colour="BN"),
            Wire(id="W106", from_="ECU.A12", to="", colour=""),
        ),
        strip=strip_of("/patterns", (_KEY, *_OTHERS), state=state, job=sample, unplugged=("X2",)),
        circuits=tuple(circuit_line(one, links) for one in _CIRCUITS),
        tallies=(
            Line(what="new wires cut", number=64, of=188, noun="wire"),
            Line(what="ends crimped", number=0, of=376, noun="crimp"),
            Line(what="switch positions tested", number=12, of=12, noun="position"),
        ),
        cautions=(
            Caution(step="Under the car", says="Stands under it, wheels chocked, gear out.", kills=True),
            Caution(step="At the plug", says="No lamp, test or series, into a controller's plug."),
        ),
        splices=(
            SpliceLine(
                splice="SP1",
                href="",
                now="engine_top",
                best="engine_top",
                moves=False,
                is_barred=False,
                saves="",
                says="stays at engine_top, 4.81 g of copper for W235 W240; nowhere that will do takes less.",
            ),
            SpliceLine(
                splice="SP2",
                href="",
                now="bulkhead",
                best="150 mm from bulkhead in R08",
                moves=True,
                is_barred=True,
                saves="1.2 g less",
                says="nothing sits at bulkhead, and R11 passes a hole: it is beneath it, most likely.",
            ),
        ),
        problems=(
            Problem(
                sheet="wires",
                row=12,
                column="to",
                found="X9.4",
                allowed="a point of the job",
                mend="Type the part first, or another point",
            ),
        ),
        links=links,
        sizes=("plain", "large"),
    )
