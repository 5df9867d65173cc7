"""How is one thing wrong told on the command line: the findings, and under them every failure with what it does?"""

from __future__ import annotations

from loomwright.cli.printing import as_json, counted, show, show_hanging
from loomwright.findings import says
from loomwright.trials.failures import PARTS
from loomwright.trials.outcomes import Outcome
from loomwright.trials.wrong import Wrong
from loomwright.trials.wrong_plain import effects_text, wrong_plain

__all__ = ["show_wrong"]

_GAP = " " * 4


def show_wrong(wrong: Wrong, wants_json: bool) -> int:
    """Print what one thing wrong does; gives the exit code."""
    if wants_json:
        as_json(wrong_plain(wrong))
        return 1 if wrong.worst in ("fault", "warning") else 0
    for finding in wrong.findings:
        show_hanging(f"{finding.severity.upper():8}{finding.rule:7}{says(finding)}", " " * 15)
    for part in PARTS:
        told = [one for one in wrong.outcomes if one.failure.part == part]
        show(f"\n{part.upper()}: {counted(len(told), 'thing')}, {sum(not one.weight for one in told)} without effect")
        for one in told:
            if one.weight or one.goes_on or one.blows or one.runs_on:
                show_hanging(f"{one.failure.says} ({one.failure.what})", _GAP)
                for line in _lines(one):
                    show_hanging(_GAP + line, 2 * _GAP)
    count = {word: sum(f.severity == word for f in wrong.findings) for word in ("fault", "warning", "note")}
    show(
        "\n"
        + ", ".join(counted(number, word) for word, number in count.items())
        + f"; {counted(len(wrong.outcomes), 'thing')} tried in {counted(wrong.tried, 'state')}, which lie as "
        + f"{wrong.of} do in which they make a difference."
    )
    return 1 if wrong.worst in ("fault", "warning") else 0


def _lines(one: Outcome) -> list[str]:
    told = [
        (word, effects_text(effects))
        for word, effects in (("goes dead", one.dies), ("starts by itself", one.starts), ("fuse blows", one.blows))
        if effects
    ]
    lines = [f"{word}: {names}" for word, names in told]
    if one.goes_on:
        lines.append(f"goes on by another way: {effects_text(one.goes_on)}, by {one.goes_on[0].by}")
    for effect in (*one.overloads, *one.not_meant):
        most = f", allowed {effect.most_a:.0f} A" if effect.most_a is not None else ""
        why = f" ({effect.by})" if effect in one.not_meant else f" (fuse {effect.by} opens)" if effect.by else ""
        lines.append(f"carries too much: {effect.name} {effect.amps:.0f} A{most}{why}")
    if one.runs_on is not None:
        lines.append("the engine can go on firing with the key off")
    return lines
