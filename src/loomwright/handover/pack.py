"""What is taped to the bench and taken under the car?

In: the job as typed and with what was decided filled in, its network, what a check found. Out: a `Pack`: the paper, and
behind it everything that is built, pinned, tested, labelled and bought by. The states are solved once for all of it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from loomwright.calibration.starting import StartNumbers
from loomwright.findings import Finding
from loomwright.handover.asking import walk_of
from loomwright.handover.box_charts import box_charts
from loomwright.handover.connector_faces import connector_faces, with_what_dies
from loomwright.handover.crimp_sheet import crimp_sheet
from loomwright.handover.cut_sheet import cut_sheet
from loomwright.handover.dead_tests import dead_tests
from loomwright.handover.earth_list import earths_of
from loomwright.handover.known_limits import known_limits
from loomwright.handover.number_sheet import number_sheet
from loomwright.handover.output_tests import output_tests
from loomwright.handover.owner_sheet import owner_sheet
from loomwright.handover.pack_records import Pack
from loomwright.handover.paper import paper_of
from loomwright.handover.parts_list import parts_list
from loomwright.handover.pin_list import pin_list
from loomwright.handover.redo_sheet import NOTHING_ASKED, redo_sheet
from loomwright.handover.relay_list import relays_of
from loomwright.handover.revision_sheet import NO_PAST, History, revision_sheet
from loomwright.handover.wire_list import notes_of
from loomwright.job.job import Job
from loomwright.loom.as_built_records import AsBuilt
from loomwright.loom.cut_list import cut_list
from loomwright.loom.labels import labels_of
from loomwright.routes.bundles import bundles
from loomwright.routes.wire_routes import wire_routes
from loomwright.states.asking.scene import Scene
from loomwright.states.ratings.pulsed import heating_of

__all__ = ["Pack", "pack_of"]

Making = Callable[[str], None]


def pack_of(
    sheets: Job,
    scene: Scene,
    findings: Sequence[Finding],
    *,
    states_searched: int,
    date: str = "",
    built: AsBuilt | None = None,
    making: Making | None = None,
    numbers: StartNumbers | None = None,
    history: History = NO_PAST,
) -> Pack:
    """The pack of one revision of a job.

    Args:
        sheets: the job as it was typed, its decisions beside it.
        scene: the job with what was decided filled in, and its network.
        findings: as a check gave them, in order.
        states_searched: how many states their verdicts hold for. [-]
        date: printed as it stands; none where empty.
        built: what changes ask of what is built already, where something is.
        making: told what is being worked out; may raise Stopped.
        numbers: what its engine starts with; None where too little is known of it.
        history: what is known of the job's past.
    """
    say = making or _silent
    job, kinds, compiled = scene.job, scene.kinds, scene.compiled
    say("states")
    walk = walk_of(job, kinds, compiled)
    notes = notes_of(sheets)
    say("fuses")
    paper = paper_of(
        job,
        kinds,
        compiled,
        findings,
        states_searched=states_searched,
        date=date,
        walk=walk,
        notes=notes,
        heating=heating_of(scene),
        newest=history.newest,
    )
    say("relays")
    relays = relays_of(scene, walk.answers)
    say("tests")
    useless = frozenset() if built is None else built.useless
    connectors = with_what_dies(connector_faces(job, kinds), job, kinds, compiled, walk.answers)
    return Pack(
        paper=paper,
        cuts=cut_sheet(cut_list(job, useless=useless)),
        relays=relays,
        charts=box_charts(paper.fuses, relays),
        connectors=connectors,
        dead=dead_tests(job, kinds, compiled),
        outputs=output_tests(job, kinds, compiled, walk.columns, paper.cautions),
        labels=labels_of(job),
        earths=earths_of(job, kinds, compiled, walk.answers, walk.asked),
        parts=parts_list(job, kinds, connectors, paper.provisional),
        notes=notes,
        redo=NOTHING_ASKED if built is None else redo_sheet(built),
        ways=tuple(one for one in findings if one.path and one.severity != "note"),
        owner=owner_sheet(job, kinds, compiled, walk, known_limits(paper.findings, job, paper.provisional)),
        revisions=revision_sheet(job, history),
        numbers=number_sheet(job, numbers),
        crimps=crimp_sheet(job, useless, bundles(job, wire_routes(job, kinds), job)),
        pins=pin_list(job, kinds, connectors),
    )


def _silent(_: str) -> None:
    return None
