"""What was answered to a thing, as the row of the sheet it belongs to?

In: the row the thing began (which wire, which test, between what), how it could be answered, and what was answered.
Out: the cells. A reading is judged here, by the band that stood on the screen when it was taken, and never refused for
being strange: whoever took it was asked there and then. What cannot be read as an answer at all is refused.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.job.figures import text_of_figure
from loomwright.proving.plan import PlannedTest
from loomwright.proving.taking import taken
from loomwright.quantities.parsing import parse_quantity
from loomwright.refusals import OutOfReach
from loomwright.worklist.thing import Asks

__all__ = ["Said", "row_said"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What was answered. value: a figure in the unit that was asked for, or a word; empty where it was only done.

    note: anything worth knowing; the reason, where it was let go. is_let_go: it is not needed, or not possible.
    """

    value: str = ""
    note: str = ""
    is_let_go: bool = False
    instrument: str = ""
    warmth: str = ""


def row_said(
    sheet: str, cells: Mapping[str, str], asks: Asks, said: Said, *, time: str, who: str = "", revision: int = 0
) -> Mapping[str, str]:
    """The row that an answer makes.

    Args:
        sheet: it belongs to.
        cells: as the thing began it.
        asks: how it could be answered.
        said: what was answered.
        time: when.
        who: by whom.
        revision: of the job that stood on the screen. [-]
    Raises:
        OutOfReach: what was answered is no answer to what was asked.
    Example:
        >>> cells = {"gate": "fit/clip/R1/1", "stage": "loom"}
        >>> dict(row_said("gates", cells, Asks(), Said(), time="2026-01-02T08:00:00"))["verdict"]
        'passed'
    """
    if sheet == "proofs":
        return _proof(cells, asks, said, time=time, who=who)
    if sheet == "gates":
        row = {**cells, **_gate(asks, said), "time": time, "who": who}
    elif sheet == "readings":
        row = {**cells, **_reading(asks, said), "instrument": said.instrument, "note": said.note, "time": time}
        row["visit"] = time[: len("2026-01-02")]
    else:
        row = {**cells, "revision": str(revision) if revision else "", "time": time, "who": who}
        if said.value and asks.unit == "mm":
            row["length_mm"] = text_of_figure(parse_quantity(said.value, "mm", name="length_mm"))
    return {name: text for name, text in row.items() if text}


def _proof(cells: Mapping[str, str], asks: Asks, said: Said, *, time: str, who: str) -> Mapping[str, str]:
    test = PlannedTest(
        id=cells.get("test", ""),
        stage="",
        does="",
        point=cells.get("point", ""),
        to=cells.get("to", ""),
        when=cells.get("when", ""),
        measure=asks.measure,
        low=asks.low,
        high=asks.high,
        unit=asks.unit,
        word=asks.word,
    )
    found = taken(
        test,
        "-" if said.is_let_go else said.value,
        time=time,
        who=who,
        instrument=said.instrument,
        warmth=said.warmth,
        notes=said.note,
    )
    return found.cells


def _gate(asks: Asks, said: Said) -> dict[str, str]:
    if said.is_let_go:
        if not asks.waivable or not said.note.strip():
            raise OutOfReach("reason", said.note, "a reason, and a thing that may be let go")
        return {"verdict": "waived", "reason": said.note.strip()}
    if asks.kind != "figure":
        if asks.words and said.value not in asks.words:
            raise OutOfReach("value", said.value, " ".join(asks.words))
        return {"verdict": "failed" if said.value == "no" else "passed", "reason": said.note.strip()}
    value = _figure(said.value, asks.unit)
    holds = (asks.low is None or value >= asks.low) and (asks.high is None or value <= asks.high)
    return {"verdict": "passed" if holds else "failed", "value": text_of_figure(value), "unit": asks.unit}


def _reading(asks: Asks, said: Said) -> dict[str, str]:
    if asks.measure == "seen":
        return {"seen": _word(asks, said)}
    if said.value in asks.words or asks.kind == "words":
        return {"value": _word(asks, said)}
    return {"value": text_of_figure(_figure(said.value, asks.unit)), "unit": asks.unit}


def _word(asks: Asks, said: Said) -> str:
    if said.value not in asks.words:
        raise OutOfReach("value", said.value, " ".join(asks.words))
    return said.value


def _figure(text: str, unit: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise OutOfReach("value", text, f"a figure in {unit or 'counts'}") from None
