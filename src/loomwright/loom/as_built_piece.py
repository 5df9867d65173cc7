"""Does the piece that was cut still do: its colour, its copper, its insulation, its length?

In: the wire as it is asked now, as it was asked when it was cut (where that is known), and what its progress says was
cut. Another colour or thinner copper cannot be mended; a length can be pieced or taken up. A piece that was measured
too short and is not laid yet is cut anew: that takes minutes, and nobody wants two splices in a new loom. So is one
that lies in a cable, a screen or a twist.
"""

from __future__ import annotations

from loomwright.job.rows import Wire
from loomwright.job.wire_ends import ENDS
from loomwright.loom.as_built_records import Ask, Does
from loomwright.loom.as_built_view import View
from loomwright.loom.built_steps import WireSteps
from loomwright.loom.cut_list import ALLOWANCE_MM
from loomwright.loom.rework_hours import Operation
from loomwright.quantities.printing import with_unit
from loomwright.tables.limits import insulation_class_c

__all__ = ["CRIMP_MM", "TAKEN_UP_MM", "cut_anew", "length_ask", "out_of_loom", "scrap_ask", "stays_of"]

CRIMP_MM = 15.0
"""What a wire loses when a crimp is cut off it; common practice, no source. [mm]"""

TAKEN_UP_MM = 50.0
"""What is too long and still lies well in a loom; common practice, no source. [mm]"""

_ANY_MM = 0.5
_ANY_MM2 = 1e-6
_NEW = "new"
_WORDS = {"crimped": "crimp", "seated": "seat", "sleeved": "sleeve"}
_SPLICE = Operation(end="", word="splice")


def scrap_ask(now: Wire, then: Wire | None, steps: WireSteps, since: int | None) -> Ask | None:
    """Why the piece cannot be used any more; None where it can, as far as the record tells.

    Args:
        now: as it is asked.
        then: as it was asked when it was cut; None where nobody knows.
        steps: what was done.
        since: the revision it was cut from. [-]
    """
    if now.fitted != _NEW:
        return _no_longer_new(now, then, steps, since)
    faults = [
        each
        for each in (_colour(now, then, steps), _size(now, then, steps), _insulation(now, then), _core(now, then))
        if each is not None
    ]
    if not faults:
        return None
    says = ". It ".join(fault[1] for fault in faults)
    return Ask(
        wire=steps.wire,
        does="scrap",
        says=f"{now.id} {says}: scrap it and cut a new one.",
        was=", ".join(fault[2] for fault in faults),
        now=", ".join(fault[3] for fault in faults),
        since=since,
        cells=tuple(("wires", now.id, fault[0]) for fault in faults),
    )


def length_ask(
    now: Wire, then: Wire | None, steps: WireSteps, since: int | None, *, crimps: int, view: View, way_mm: float | None
) -> tuple[Ask, tuple[Operation, ...], tuple[Operation, ...]] | None:
    """Whether the piece is too short or too long, with the operations of both ways to mend it.

    Args:
        now: as it is asked.
        then: as it was asked when it was cut; None where nobody knows.
        steps: what was done.
        since: the revision it was cut from. [-]
        crimps: how many of its ends are crimped anew. [-]
        view: what the job asks now.
        way_mm: what its way along the runs asks now. [mm]
    """
    if now.fitted != _NEW or (steps.cut is None and steps.length_mm is None):
        return None
    is_decided = "length_mm" in view.decided.get(now.id, {})
    asked_mm = way_mm if way_mm is not None and (is_decided or now.length_mm is None) else now.length_mm
    if asked_mm is None:
        return None
    was_mm = then.length_mm if then is not None else None
    cut_mm = steps.length_mm if steps.length_mm is not None else was_mm
    if cut_mm is None:
        says = f"{now.id}: what was cut is not written down. Measure it: {_mm(asked_mm)} are asked."
        return _told(now, steps, since, "look", says, "not known", asked_mm, None), (), ()
    is_told = steps.length_mm is not None
    told = f"was cut {_mm(cut_mm)}" if is_told else f"is taken to be {_mm(cut_mm)}, as it was asked when it was cut"
    # where only the list is known, the allowance in every cut is for crimping anew
    lost_mm = crimps * CRIMP_MM if is_told else 0.0
    short_mm, long_mm = asked_mm + lost_mm - cut_mm, cut_mm - asked_mm
    if short_mm > _ANY_MM:
        lost = f" and {_mm(lost_mm)} are lost to crimping anew" if lost_mm else ""
        bound = "cable" if now.cable else "screen" if now.screen else "twist" if now.twist else ""
        is_loose = is_told and not steps.is_laid
        how = (
            f"cut a new one, since it lies in a {bound}"
            if bound
            else "cut a new one, since it is not laid yet"
            if is_loose
            else "let a piece in, or scrap it and cut a new one"
        )
        says = f"{now.id} {told}, {_mm(asked_mm)} are asked{lost}: {_mm(short_mm, up=True)} too short. Mend: {how}."
        if is_loose or (bound and is_told):
            return _told(now, steps, since, "scrap", says, _mm(cut_mm), asked_mm, short_mm), cut_anew(steps), ()
        ask = _told(now, steps, since, "lengthen", says, _mm(cut_mm), asked_mm, short_mm)
        return (ask, cut_anew(steps), ()) if bound else (ask, (_SPLICE,), cut_anew(steps))
    is_shorter_now = was_mm is None or asked_mm < was_mm - _ANY_MM
    if is_shorter_now and long_mm > TAKEN_UP_MM + (ALLOWANCE_MM if is_told else 0.0):
        says = f"{now.id} {told}, {_mm(asked_mm)} are asked: {_mm(long_mm)} too long. It can stay; or shorten it."
        return _told(now, steps, since, "shorten", says, _mm(cut_mm), asked_mm, long_mm), (), _shortening(steps)
    return None


def stays_of(now: Wire, view: View, way_mm: float | None) -> tuple[str, ...]:
    """Decisions about a wire that is cut, which stay as they were, each in a sentence.

    Args:
        now: as it is asked.
        view: what the job asks now.
        way_mm: what its way along the runs asks now. [mm]
    """
    said = []
    decided = view.decided.get(now.id, {})
    if "length_mm" in decided:
        kept_mm = float(decided["length_mm"])
        if way_mm is not None and abs(way_mm - kept_mm) > _ANY_MM:
            kept, asked = _mm(kept_mm), _mm(way_mm)
            said.append(f"Its length was decided as {kept} and stays so, since it is cut; its way asks {asked} now.")
    if "size_mm2" in decided:
        said.append(f"Its area was decided as {_mm2(float(decided['size_mm2']))} and stays so, since it is cut.")
    return tuple(said)


def out_of_loom(steps: WireSteps) -> tuple[Operation, ...]:
    """Getting a wire out of the loom: nothing where it is not laid."""
    laid = [Operation(end=end, word="extract") for end in ENDS if steps.at(end, "seated")]
    return (*laid, Operation(end="", word="pull")) if laid else ()


def cut_anew(steps: WireSteps) -> tuple[Operation, ...]:
    """Getting a wire out, and doing again to a new one what was done to it."""
    # labels are put on as the wire is cut, and are in its minutes
    again = [Operation(end=end, word=word) for end in ENDS for step, word in _WORDS.items() if steps.at(end, step)]
    lay = [Operation(end="", word="lay")] if steps.is_laid else []
    prove = [Operation(end="", word="prove")] if steps.proved else []
    return (*out_of_loom(steps), Operation(end="", word="cut"), *again, *lay, *prove)


def _shortening(steps: WireSteps) -> tuple[Operation, ...]:
    """Shortening a wire at the end that is the least work."""
    end = next((end for end in reversed(ENDS) if not steps.at(end, "seated")), "to")
    words = ("extract", "crimp", "seat") if steps.at(end, "seated") else ("crimp",) if steps.at(end, "crimped") else ()
    return tuple(Operation(end=end, word=word) for word in words)


def _told(
    now: Wire,
    steps: WireSteps,
    since: int | None,
    does: Does,
    says: str,
    was: str,
    asked_mm: float,
    length_mm: float | None,
) -> Ask:
    return Ask(
        wire=steps.wire,
        does=does,
        says=says,
        was=was,
        now=_mm(asked_mm),
        since=since,
        cells=(("wires", now.id, "length_mm"), ("wires", now.id, "via")),
        length_mm=length_mm,
    )


def _no_longer_new(now: Wire, then: Wire | None, steps: WireSteps, since: int | None) -> Ask | None:
    """A wire that was cut new, where one of the car or of a donor is to stay now."""
    if steps.cut is None or (then is not None and then.fitted != _NEW):
        return None
    source = {"kept": "the car's own", "donor": "one of the donor's"}.get(now.fitted, "another")
    return Ask(
        wire=steps.wire,
        does="take out",
        says=f"{now.id} was cut new, and {source} is to serve now: take it out.",
        was=_NEW,
        now=now.fitted,
        since=since,
        cells=(("wires", now.id, "fitted"),),
    )


def _colour(now: Wire, then: Wire | None, steps: WireSteps) -> tuple[str, str, str, str] | None:
    cut = steps.colour or (then.colour if then is not None and steps.cut is not None else "")
    if not cut or not now.colour or cut == now.colour:
        return None
    return "colour", f"was cut {cut}, and {now.colour} is asked now", cut, now.colour


def _size(now: Wire, then: Wire | None, steps: WireSteps) -> tuple[str, str, str, str] | None:
    cut_mm2 = steps.size_mm2
    if cut_mm2 is None and then is not None and steps.cut is not None:
        cut_mm2 = then.size_mm2
    if cut_mm2 is None or now.size_mm2 is None or cut_mm2 >= now.size_mm2 - _ANY_MM2:
        return None
    was, asked = _mm2(cut_mm2), _mm2(now.size_mm2)
    return "size_mm2", f"was cut {was}, thinner than the {asked} asked now", was, asked


def _insulation(now: Wire, then: Wire | None) -> tuple[str, str, str, str] | None:
    if then is None or then.insulation == now.insulation:
        return None
    was_c, asked_c = insulation_class_c(then.insulation), insulation_class_c(now.insulation)
    if was_c is not None and asked_c is not None and was_c >= asked_c:
        return None
    was, asked = then.insulation or "the usual insulation", now.insulation or "the usual"
    return "insulation", f"was cut with {was}, and {asked} is asked now", was, asked


def _core(now: Wire, then: Wire | None) -> tuple[str, str, str, str] | None:
    """A wire that became the core of a cable, or lies in a screen now."""
    if then is None:
        return None
    for column, is_in in (("cable", "a core of"), ("screen", "in the screen")):
        was, asked = getattr(then, column), getattr(now, column)
        if asked and was != asked:
            return column, f"was cut single, and is to be {is_in} {asked} now", was or "single", asked
    return None


def _mm(value: float, *, up: bool = False) -> str:
    return with_unit(value, "mm", side="up" if up else "near", digits=6)


def _mm2(value: float) -> str:
    return with_unit(value, "mm2", digits=4)
