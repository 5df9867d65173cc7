"""Open, doubled, never working, the wrong way round: the rules NET-1 to NET-8, each asked on a page of its own.

terminals  NET-1 what must have a wire and has none, free ends, metals without a strap; NET-2 doubled terminals
lost_wires NET-1 both ends of one lost wire, told as one
loads      NET-3 a load that works in no state, and the lost earth or feed behind it
reversing  NET-3 a motor for both directions that turns in one only
sensing    NET-3 of sensors, gauges and alternators
polarity   NET-4 wired the wrong way round; NET-5 more volts than it is made for
through_parts     NET-4 of what passes a feed on, fed at its way out
led_charge_lamps  NET-3 of an alternator that wakes by watts that nobody wrote
pins_given NET-6 a wire that leads to another controller pin than its need is given
peaks      NET-8 a coil's peak that reaches what does not stand it
marks      NET-7 a wire between two terminals whose marks say different things
company    NET-7 a lamp that hangs on the wire of lamps of another purpose
"""

from __future__ import annotations

from loomwright.states.asking.folding import Told
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.tracing import ways_of
from loomwright.states.rules.company import company_findings
from loomwright.states.rules.led_charge_lamps import led_charge_findings
from loomwright.states.rules.loads import load_watches, lost_net_findings, lost_points, with_the_lost
from loomwright.states.rules.lost_wires import with_its_metal, with_one_cause
from loomwright.states.rules.marks import mark_findings
from loomwright.states.rules.peaks import peak_findings
from loomwright.states.rules.pins_given import pin_findings, wrong_holes_once
from loomwright.states.rules.polarity import polarity_findings, polarity_watches
from loomwright.states.rules.reversing import one_way_findings
from loomwright.states.rules.sensing import sensor_findings, sensor_watches
from loomwright.states.rules.terminals import terminal_findings
from loomwright.states.rules.through_parts import exchanged_findings

__all__ = ["sheet_findings", "watches"]


def watches(scene: Scene) -> tuple[Watch, ...]:
    """What is asked of every state."""
    ways = ways_of(scene)
    return (*load_watches(scene, ways), *sensor_watches(scene, ways), *polarity_watches(scene, ways))


def sheet_findings(scene: Scene) -> tuple[Told, ...]:
    """What the sheets alone show, roots first."""
    ways = ways_of(scene)
    open_ends = tuple(terminal_findings(scene, ways))
    known = frozenset(scene.point(place) for told in open_ends for place in told.finding.at)
    lost = tuple(lost_net_findings(scene, ways, known))
    joined = with_its_metal(scene, with_one_cause(ways, open_ends))
    open_and_wrong = (*with_the_lost(ways, joined, lost), *pin_findings(scene))
    return (
        *wrong_holes_once(open_and_wrong),
        *mark_findings(scene),
        *company_findings(scene),
        *peak_findings(scene, ways),
        *polarity_findings(scene, ways),
        *exchanged_findings(scene, ways),
        *lost,
        *one_way_findings(scene, ways),
        *led_charge_findings(scene),
        *sensor_findings(scene, ways, known | lost_points(scene, ways)),
    )
