"""What does the page of one thing wrong say: what is missing, stuck or shorted, and what comes of it?"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from loomwright.findings import Finding
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.state_words import amps_text
from loomwright.trials.failures import PARTS, Failure
from loomwright.trials.outcomes import Effect, Outcome
from loomwright.trials.wrong import Wrong

__all__ = ["EffectWord", "FailureLine", "PartChoice", "WrongPage", "wrong_page"]

_MEANS = {
    "missing": "a wire, strap, earth, fuse or connector that is open",
    "stuck": "a relay, a switch or a driver that stays closed",
    "shorted": "a line on earth or on the supply, or two neighbouring cavities",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class EffectWord:
    """One thing that a failure does to something. state, href: in which state, and the car in it."""

    name: str
    thing_href: str
    says: str
    state: str
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FailureLine:
    """One failure. names: each with its page.   off_href: the car with that thing unplugged; empty: no plug.

    rules: severity and code of its findings.
    """

    names: tuple[tuple[str, str], ...]
    what: str
    to: str
    off_href: str
    dies: tuple[EffectWord, ...]
    starts: tuple[EffectWord, ...]
    goes_on: tuple[EffectWord, ...]
    over: tuple[EffectWord, ...]
    blows: tuple[EffectWord, ...]
    runs_on: tuple[EffectWord, ...]
    rules: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartChoice:
    """One of missing, stuck and shorted. count: things that do something. [-]"""

    word: str
    means: str
    href: str
    is_here: bool
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WrongPage:
    """The page. waiting: it is being worked out.   done, of: states. [-]   quiet: failures that do nothing. [-]"""

    parts: tuple[PartChoice, ...]
    part: str
    circuit: str
    circuits: tuple[str, ...]
    lines: tuple[FailureLine, ...]
    quiet: int
    findings: tuple[Finding, ...]
    tried: int
    makes: int
    failures: int
    waiting: bool
    stopped: bool
    refused: str
    done: int
    of: int
    stop: str
    again: str
    links: JobLinks


def wrong_page(
    wrong: Wrong | None,
    links: JobLinks,
    *,
    part: str,
    circuit: str,
    stopped: bool,
    refused: str = "",
    done: int,
    of: int,
) -> WrongPage:
    """The page, or how far it is.

    Args:
        part: missing, stuck or shorted.
        circuit: shown alone; all where empty.
        stopped: nobody works it out.
        refused: why there is no answer; empty where it is not so.
        done: states looked at. [-]
        of: states to look at. [-]
    """
    every = wrong.outcomes if wrong is not None else ()
    here = [one for one in every if not circuit or circuit in one.failure.circuits]
    mine = [one for one in here if one.failure.part == part]
    loud = [one for one in mine if _tells(one)]
    return WrongPage(
        parts=tuple(
            PartChoice(
                word=word,
                means=_MEANS[word],
                href=job_path(links.job, "wrong", query={"part": word, "circuit": circuit}),
                is_here=word == part,
                count=sum(one.failure.part == word and _tells(one) for one in here),
            )
            for word in PARTS
        ),
        part=part,
        circuit=circuit,
        circuits=tuple(sorted({name for one in every for name in one.failure.circuits})),
        lines=tuple(_line(one, wrong.findings if wrong is not None else (), links) for one in _worst_first(loud)),
        quiet=len(mine) - len(loud),
        findings=wrong.findings if wrong is not None else (),
        tried=wrong.tried if wrong is not None else 0,
        makes=wrong.of if wrong is not None else 0,
        failures=len(every),
        waiting=wrong is None and not stopped and not refused,
        stopped=stopped,
        refused=refused,
        done=done,
        of=of,
        stop=job_path(links.job, "wrong", "stop"),
        again=job_path(links.job, "wrong", "again"),
        links=links,
    )


def _tells(one: Outcome) -> bool:
    return bool(one.weight or one.goes_on or one.blows or one.runs_on)


def _worst_first(outcomes: Iterable[Outcome]) -> list[Outcome]:
    """What makes the engine run on or overloads a wire, then what starts, then what goes dead."""
    return sorted(
        outcomes,
        key=lambda one: (
            one.runs_on is None,
            not any(not effect.by for effect in one.overloads),
            not one.not_meant,
            not one.starts,
            -len(one.dies),
        ),
    )


def _line(one: Outcome, findings: Sequence[Finding], links: JobLinks) -> FailureLine:
    failure = one.failure
    over = [(effect, f"fuse {effect.by} opens" if effect.by else "no fuse opens") for effect in one.overloads]
    over += [(effect, effect.by) for effect in one.not_meant]
    return FailureLine(
        names=tuple((name, links.thing(name)) for name in failure.at),
        what=failure.what,
        to=failure.to,
        off_href=links.car({}, {}, failure.unplug) if failure.unplug else "",
        dies=_words(one.dies, failure, links),
        starts=_words(one.starts, failure, links),
        goes_on=tuple(
            _word(effect, f"{effect.name.split('.')[0]} by {effect.by}", failure, links) for effect in one.goes_on
        ),
        over=tuple(
            _word(effect, f"{effect.name} {amps_text(effect.amps or 0.0)}, {words}", failure, links)
            for effect, words in over
        ),
        blows=_words(one.blows, failure, links),
        runs_on=() if one.runs_on is None else (_word(one.runs_on, "engine fires with the key off", failure, links),),
        rules=tuple(
            (finding.severity, finding.rule)
            for finding in findings
            if finding.at == failure.at and failure.says in finding.label
        ),
    )


def _words(effects: Iterable[Effect], failure: Failure, links: JobLinks) -> tuple[EffectWord, ...]:
    """Each thing once, in its first state."""
    found: dict[str, EffectWord] = {}
    for effect in effects:
        name = effect.name.split(".")[0]
        found.setdefault(name, _word(effect, name, failure, links))
    return tuple(found.values())


def _word(effect: Effect, says: str, failure: Failure, links: JobLinks) -> EffectWord:
    name = effect.name.split(".")[0]
    return EffectWord(
        name=name,
        thing_href=links.thing(name),
        says=says,
        state=", ".join(f"{variable} {value}" for variable, value in effect.state) or "everything at rest",
        href=links.car(dict(effect.state), {}, failure.unplug),
    )
