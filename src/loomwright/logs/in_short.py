"""What does a drive say, and what comes next, in three sentences?

In: a judged drive, and what is left before the dyno. Out: what was recorded; what it shows; what to do next. The next
thing is the mend of the gravest finding; where nothing is wrong the fuel; where that is right what the log lacks; and
at the end the first criterion that is open.
"""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.logs.dyno import Criterion, Readiness
from loomwright.logs.judged import Judged

__all__ = ["drive_in_short", "ready_in_short"]

_WANTED = (
    *("engine_speed", "manifold_pressure", "mixture", "mixture_target", "coolant"),
    *("battery", "oil_pressure", "fan", "knock"),
)
_NEAR = 0.03
_PERCENT = 100.0
_MINUTE_S = 60.0


def drive_in_short(drive: Judged, ready: Readiness) -> tuple[str, str, str]:
    """Three sentences: recorded, shown, next.

    Args:
        drive: judged.
        ready: what is left before the dyno, this drive counted in.
    """
    return _recorded(drive), _shown(drive), _next(drive, ready)


def ready_in_short(ready: Readiness, drives: Sequence[str]) -> tuple[str, str, str]:
    """Three sentences: how many criteria are met, what speaks against the day, next.

    Args:
        ready: every criterion.
        drives: names of the drives that count, the newest first.
    """
    of, left = len(ready.criteria), ready.left
    by = f", by the drive {drives[0]} and what is written down" if drives else "; no drive is taken in yet"
    met = f"{of - len(left)} of {of} criteria are met{by}."
    if not left:
        return met, "Nothing is open.", "Print the certificate and take it along with the papers."
    against = [one for one in left if one.is_against]
    shown = (
        f"Against the day speaks: {'; '.join(one.asks for one in against)}." if against else "Nothing speaks against."
    )
    one = (against or left)[0]
    return met, shown, f"Next: {one.mend[:1].lower()}{one.mend[1:]}."


def _recorded(drive: Judged) -> str:
    minutes, seconds = divmod(round(drive.lasts_s), int(_MINUTE_S))
    took = sum(one.took for one in drive.starts)
    starts = f"{len(drive.starts)} {'attempt' if len(drive.starts) == 1 else 'attempts'} to start ({took} took)"
    there = {one.quantity for one in drive.channels}
    lacks = [name.replace("_", " ") for name in _WANTED if name not in there]
    lacking = f"; {_listed(lacks)} {'was' if len(lacks) == 1 else 'were'} not recorded" if lacks else ""
    return f"{minutes} min {seconds} s were read, with {starts} and {drive.loaded_s:.0f} s under load{lacking}."


def _shown(drive: Judged) -> str:
    fuel = _fuel(drive)
    counted = [sum(one.severity == word for one in drive.findings) for word in ("fault", "warning")]
    if not any(counted):
        return f"Nothing wrong was found in what was recorded{f'; {fuel}' if fuel else ''}."
    words = [f"{n} {word}{'' if n == 1 else 's'}" for n, word in zip(counted, ("fault", "warning"), strict=True) if n]
    first = drive.findings[0]
    where = first.label.removeprefix("first ")
    return f"It shows {' and '.join(words)}, first {where}: {first.wrong}{f'; {fuel}' if fuel else ''}."


def _fuel(drive: Judged) -> str:
    if drive.mixture is None:
        return ""
    cells = [one for one in drive.mixture.cells if one.factor is not None]
    if not cells:
        return f"nothing is told of the fuel: {drive.mixture.silent}"
    worst = max(cells, key=lambda one: abs((one.factor or 1.0) - 1.0))
    near = sum(abs((one.factor or 1.0) - 1.0) <= _NEAR for one in cells)
    return (
        f"the fuel is within {_PERCENT * _NEAR:g} % in {near} of {len(cells)} cells it tells of, furthest out by "
        f"{_PERCENT * ((worst.factor or 1.0) - 1.0):+.1f} % at {worst.rpm:g} 1/min and {worst.load:g} kPa"
    )


def _next(drive: Judged, ready: Readiness) -> str:
    wrong = [one for one in drive.findings if one.severity != "note" and one.mend]
    if wrong:
        return f"Next: {_begun(wrong[0].mend)}."
    mixture = drive.mixture
    if mixture is not None and any(one.factor != 1.0 for one in mixture.proposal):
        if drive.has_table:
            return "Next: adopt the proposal, write it into the controller at idle and drive the same cells again."
        return "Next: give the controller's fuel table, so that the proposal can be adopted."
    if mixture is not None and mixture.delay.typical:
        return "Next: record again and let the target step by 3 to 5 % at steady speeds, so that the delay is told."
    left: Sequence[Criterion] = ready.left
    return f"Next: {_begun(left[0].mend)}." if left else "Next: print the certificate."


def _begun(mend: str) -> str:
    """A mend as the rest of a sentence."""
    return f"{mend[:1].lower()}{mend[1:]}".rstrip(".")


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
