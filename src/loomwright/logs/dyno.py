"""Is the car ready for the dyno, and by which record?

In: what a drive said, the gates and the proofs of the job. Out: each criterion with the record that meets it, or what
is left to do. Evidence, not ticks: a criterion is met by a gate passed, a proof passed, or a drive in which the thing
was recorded and nothing was found; a waived gate meets it with its reason. One that failed later is open again. The
certificate's words come only when none is open.
Source: table `dyno/criteria`; common practice.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from loomwright.job.rows import Gate, Proof
from loomwright.logs.judged import Judged
from loomwright.refusals import BadDocument, OutOfReach, Problem
from loomwright.tables.load import read_toml

__all__ = ["Criterion", "Readiness", "gate_row", "readiness"]

_FIGURE = re.compile(r"([-+]?\d+(?:[.,]\d+)?)\s*(\S{0,8})")
_PAUSE = re.compile(r"[,:;] ")
_STAGE, _VERDICTS = "calibrate", ("passed", "failed", "waived")
_LOADED_S = 5.0
_CERTIFICATE = "All criteria for the dyno are met by the records named beside them."


@dataclass(frozen=True, slots=True, kw_only=True)
class Criterion:
    """One criterion. met: by a record.   record: which; empty where open.   open_why: what is left; empty where met.

    mend: what to do for it.   gate: the name under which it is written down; empty where only a drive can meet it.
    is_against: open since a record speaks against it, not for want of one.
    """

    name: str
    asks: str
    met: bool
    record: str
    open_why: str
    mend: str = ""
    gate: str = ""
    is_against: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Readiness:
    """Every criterion, in order."""

    criteria: tuple[Criterion, ...]

    @property
    def is_ready(self) -> bool:
        """Whether none is open."""
        return all(one.met for one in self.criteria)

    @property
    def left(self) -> tuple[Criterion, ...]:
        """Those that are open."""
        return tuple(one for one in self.criteria if not one.met)

    @property
    def certificate(self) -> str:
        """The certificate's words; empty as long as one criterion is open."""
        return _CERTIFICATE if self.is_ready else ""


def readiness(
    drive: Judged | None,
    gates: Sequence[Gate],
    proofs: Sequence[Proof],
    log: str = "log",
    earlier: Sequence[tuple[str, Judged]] = (),
) -> Readiness:
    """Every criterion beside its record.

    Args:
        drive: what the newest drive said; None where there is none.
        gates: of the job, the newest last.
        proofs: of the job, the newest last.
        log: the drive's name on the record.
        earlier: names and drives before it, the newest first: they stand for what no later one says anything of.
    """
    rows = read_toml("dyno", "criteria")
    drives = [*([] if drive is None else [(log, drive)]), *earlier]
    return Readiness(
        criteria=tuple(
            _criterion(name, row, gates, proofs, *_telling(row, drives))
            for name, row in rows.items()
            if isinstance(row, dict)
        )
    )


def gate_row(ready: Readiness, name: str, verdict: str, value: str = "", reason: str = "") -> Mapping[str, str]:
    """The row of the sheet `gates` that speaks for or against a criterion.

    Args:
        ready: every criterion.
        name: of the criterion.
        verdict: passed, failed or waived.
        value: what was read or seen; needed where it passed or failed.
        reason: why it is waived; needed then.
    Raises:
        OutOfReach: no such criterion or verdict.
        BadDocument: no record can be made of it.
    """
    known = {one.name: one for one in ready.criteria}
    if name not in known:
        raise OutOfReach("criterion", name, " ".join(known))
    one = known[name]
    if verdict not in _VERDICTS:
        raise OutOfReach("verdict", verdict, " ".join(_VERDICTS))
    if not one.gate:
        raise _refused(name, verdict, "a recorded drive", one.mend)
    value, reason = value.strip(), reason.strip()
    if verdict == "waived" and not reason:
        raise _refused(name, "", "a reason", "Say why it is not needed for this day")
    if verdict != "waived" and not value:
        raise _refused(name, "", "what was read or seen", "Write the figures down, or what was looked at")
    figure = _FIGURE.fullmatch(value)
    said = {"reason": reason or value}
    if verdict != "waived" and figure:
        said = {"value": figure[1].replace(",", "."), **({"unit": figure[2]} if figure[2] else {})}
    return {"gate": one.gate, "stage": _STAGE, "verdict": verdict, **said}


def _refused(name: str, found: str, allowed: str, mend: str) -> BadDocument:
    return BadDocument((Problem(sheet="gates", row=None, column=name, found=found, allowed=allowed, mend=mend),))


def _gate_name(row: Mapping[str, object]) -> str:
    words = row.get("words", [])
    return str(words[0]) if isinstance(words, list) and words else ""


def _telling(row: Mapping[str, object], drives: Sequence[tuple[str, Judged]]) -> tuple[str, Judged | None]:
    """The newest drive that says anything for or against a criterion, or the newest of all."""
    if "log" in row:
        for name, drive in drives:
            against, missing = _against(row, drive)
            if against or not missing:
                return name, drive
    return drives[0] if drives else ("log", None)


def _criterion(
    name: str, row: Mapping[str, object], gates: Sequence[Gate], proofs: Sequence[Proof], log: str, drive: Judged | None
) -> Criterion:
    asks, mend = str(row["asks"]), str(row["mend"])
    met, open_why, is_against = "", mend, False
    records = [*(_gates(row, gates)), *(_proofs(row, proofs))]
    failed = [record for passed, record in records if not passed]
    if records and records[-1][0]:
        met = records[-1][1]
    elif failed:
        open_why, is_against = f"{failed[-1]}. {mend}", True
    if "log" in row and drive is not None:
        against, missing = _against(row, drive)
        if against:
            met, open_why, is_against = "", f"{log}: {against}. {mend}", True
        elif not missing and not failed:
            met = met or f"{log}: recorded, nothing found"
        elif not met and missing:
            open_why = f"{log}: {missing}. {mend}"
    return Criterion(
        name=name,
        asks=asks,
        met=bool(met),
        record=met,
        open_why="" if met else open_why,
        mend=mend,
        gate=_gate_name(row),
        is_against=is_against and not met,
    )


def _gates(row: Mapping[str, object], gates: Iterable[Gate]) -> list[tuple[bool, str]]:
    found = []
    for gate in gates:
        if _names(row, gate.gate):
            figure = "" if gate.value in (None, "") else f"{gate.value} {gate.unit}".strip()
            read = f": {figure or gate.reason}" if figure or gate.reason else ""
            why = f", {gate.verdict}{f': {gate.reason}' if gate.verdict == 'waived' else read}"
            passed = gate.verdict == "passed" or (gate.verdict == "waived" and bool(gate.reason))
            found.append((passed, " ".join(f"gate {gate.gate}{why}, {gate.who} {gate.time}".split()).rstrip(",")))
    return found


def _proofs(row: Mapping[str, object], proofs: Iterable[Proof]) -> list[tuple[bool, str]]:
    done = [proof for proof in proofs if _names(row, proof.test) and proof.verdict in ("passed", "failed")]
    return [
        (
            proof.verdict == "passed",
            " ".join(f"proof {proof.test}, {proof.verdict}, {proof.who} {proof.time}".split()).rstrip(","),
        )
        for proof in done
    ]


def _names(row: Mapping[str, object], text: str) -> bool:
    words = row.get("words", [])
    plain = text.lower().replace("_", " ")
    return isinstance(words, list) and any(str(word) in plain for word in words)


def _against(row: Mapping[str, object], drive: Judged) -> tuple[str, str]:
    """What the drive says against a criterion; what it lacks to say anything for it."""
    without = row.get("without", [])
    rules = set(without) if isinstance(without, list) else set()
    broken = {finding.rule: _PAUSE.split(finding.wrong)[0] for finding in drive.findings if finding.rule in rules}
    if broken:
        return "; ".join(f"{rule}, {wrong}" for rule, wrong in sorted(broken.items())), ""
    if row.get("needs") == "power":
        return "", "no drive on the road reaches the power aimed for"
    wanted = row["log"]
    there = {channel.quantity for channel in drive.channels}
    missing = [str(name).replace("_", " ") for name in wanted if name not in there] if isinstance(wanted, list) else []
    if missing:
        return "", f"does not record {', '.join(missing)}"
    if row.get("needs") == "fan_cycle" and drive.fan_cycles == 0:
        return "", "the fan was not seen to come on and go off"
    if row.get("needs") == "load" and drive.loaded_s < _LOADED_S:
        return "", "it was hardly driven under load"
    if "mixture_target" in (wanted if isinstance(wanted, list) else ()):
        return _mixture(drive)
    return "", ""


def _mixture(drive: Judged) -> tuple[str, str]:
    """The mixture's own criterion: every cell that was driven told by three visits and within 0.03."""
    cells = drive.mixture.cells if drive.mixture is not None else ()
    driven = [cell for cell in cells if cell.visits]
    if not driven:
        return "", "no cell was driven steadily"
    thin = [cell for cell in driven if cell.factor is None]
    off = [cell for cell in driven if cell.factor is not None and abs(cell.factor - 1.0) > 0.03]
    if off:
        return f"{len(off)} of {len(driven)} cells are more than 3 % off", ""
    return "", f"{len(thin)} of {len(driven)} cells have too few visits" if thin else ""
