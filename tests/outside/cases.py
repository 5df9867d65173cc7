"""Cases of outside answers: found in their folders, asked of our model, compared one figure at a time."""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from loomwright.job.points import kinds_of
from loomwright.network.build import build_network
from loomwright.network.compiled import Compiled, compile_network
from loomwright.network.meter import Bench, read_lamp, read_ohms, read_volts
from loomwright.network.records import Changes, Short
from loomwright.network.solve import Solved, solve
from loomwright.refusals import OutOfReach
from loomwright.sheets.csv_folder import open_folder
from loomwright.sizing import protection
from loomwright.sizing.shorts import loop_of, short_a
from loomwright.states.asking.scene import scene_of
from loomwright.tables.kinds import load_kinds
from tests.outside.checked_page import HERE, Checked
from tests.outside.figures import FIGURES

__all__ = ["Answer", "Case", "Source", "ask", "cases", "row_of", "source_of"]

SOURCE_WORDS = ("title", "edition", "place", "grade", "typed", "read", "rounding")
GRADES = ("read", "recalled", "worked")
REFUSED = "refused"


@dataclass(frozen=True)
class Source:
    """Where a folder's figures come from; every word of `source.toml` must be there and say something.

    grade: `read` in the source, `recalled` from memory, `worked` out here by hand.
    """

    title: str
    edition: str
    place: str
    grade: str
    typed: str
    read: str
    rounding: str


@dataclass(frozen=True)
class Case:
    """One folder: its questions, what the source prints, how far we may be from it and why."""

    folder: Path
    title: str
    source: Source
    questions: Mapping[str, Mapping[str, str]]
    printed: Mapping[str, Mapping[str, str]]
    tolerances: Mapping[str, Mapping[str, object]]


@dataclass(frozen=True)
class Answer:
    """One figure beside ours. share: difference over tolerance. [-]  rejected: it is one known to be wrong."""

    name: str
    expected: str
    ours: float | str
    share: float
    rejected: bool


def source_of(folder: Path) -> Source:
    """The source of a case: `source.toml` in its folder or in one above it.

    Raises:
        FileNotFoundError: none there, or one that says less than it must.
    """
    for place in (folder, *folder.parents):
        path = place / "source.toml"
        if path.exists():
            words = tomllib.loads(path.read_text(encoding="utf-8"))
            missing = [word for word in SOURCE_WORDS if not str(words.get(word, "")).strip()]
            if missing:
                raise FileNotFoundError(f"{path}: no {', '.join(missing)}")
            if words["grade"] not in GRADES:
                raise FileNotFoundError(f"{path}: grade {words['grade']!r} is none of {', '.join(GRADES)}")
            return Source(**{word: str(words[word]) for word in SOURCE_WORDS})
        if place == HERE:
            break
    raise FileNotFoundError(f"{folder}: a case without a source")


def cases(root: Path = HERE) -> Iterator[Case]:
    """Every case under a folder: whatever holds expected figures."""
    for path in sorted(root.rglob("expected.csv")):
        folder = path.parent
        words = tomllib.loads((folder / "case.toml").read_text(encoding="utf-8"))
        yield Case(
            folder=folder,
            title=words["title"],
            source=replace(source_of(folder), **{word: words[word] for word in ("place", "grade") if word in words}),
            questions=_by_name(folder / "inputs.csv"),
            printed=_by_name(path),
            tolerances=words.get("tolerance", {}),
        )


def ask(case: Case) -> tuple[Answer, ...]:
    """Our answer to every question of a case; `refused` where we have no figure for it."""
    car = _Car(case.folder) if (case.folder / "sheets").exists() else None
    found = []
    for name, printed in case.printed.items():
        question = case.questions[name]
        ours = car.answer(question) if car is not None else _figure(question)
        found.append(_compared(case, name, printed, ours))
    return tuple(found)


def row_of(case: Case, answers: tuple[Answer, ...]) -> Checked:
    """The case's row on the page of checks."""
    worst = max(answers, key=lambda answer: answer.share)
    printed = case.printed[worst.name]
    if isinstance(worst.ours, str):
        text = "all as printed"
    else:
        text = f"{worst.name}: {worst.ours:.4g} for {printed['expected']} {printed['unit']}".rstrip()
    source = f"{case.source.title}; {case.source.place}"
    folder = case.folder.relative_to(HERE).as_posix()
    return Checked(
        folder,
        case.title,
        source,
        len(answers),
        text,
        1.0 - worst.share,
        grade=case.source.grade,
        kept_out=sum(bool(printed["rejected"]) for printed in case.printed.values()),
    )


def _by_name(path: Path) -> dict[str, dict[str, str]]:
    with path.open(newline="", encoding="utf-8") as file:
        return {row["name"]: row for row in csv.DictReader(file)}


def _compared(case: Case, name: str, printed: Mapping[str, str], ours: float | str) -> Answer:
    expected = printed["expected"]
    if isinstance(ours, str) or not _is_number(expected):
        return Answer(name, expected, ours, 0.0 if ours == expected else float("inf"), rejected=False)
    allowed = _tolerance(case, printed["tolerance"], float(expected))
    rejected = bool(printed["rejected"]) and abs(ours - float(printed["rejected"])) <= allowed
    return Answer(name, expected, ours, abs(ours - float(expected)) / allowed, rejected)


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _tolerance(case: Case, name: str, expected: float) -> float:
    """How far off a figure may be; there is no tolerance without a reason, and none by default."""
    words = case.tolerances[name]
    if not str(words.get("reason", "")).strip():
        raise ValueError(f"{case.folder}: tolerance {name} without a reason")
    return float(str(words["abs"])) if "abs" in words else float(str(words["frac"])) * abs(expected)


def _figure(question: Mapping[str, str]) -> float | str:
    words = [pair.split("=") for pair in question["arguments"].split("; ")] if question["arguments"] else []
    try:
        return FIGURES[question["figure"]](**{name.strip(): text.strip() for name, text in words})
    except OutOfReach:
        return REFUSED


def _state(text: str) -> dict[str, str]:
    return dict(pair.strip().split("=") for pair in text.split(",")) if text else {}


def _changes(text: str) -> Changes:
    """`opened=W1 W2; series=W3:0.5; short=A.1:B.2:10; unplugged=X1; pulled=F1; stuck=K1`."""
    made: dict[str, tuple[object, ...]] = {}
    for word, _, value in (part.strip().partition("=") for part in text.split(";") if part.strip()):
        items = value.split()
        if word == "series":
            made["series"] = tuple((item.split(":")[0], float(item.split(":")[1])) for item in items)
        elif word == "short":
            made["shorts"] = tuple(Short(*item.split(":")[:2], ohm=float(item.split(":")[2])) for item in items)
        else:
            made[word] = tuple(items)
    return Changes(**made)  # type: ignore[arg-type]


class _Car:
    """The sheets of a case, and what is asked of them."""

    def __init__(self, folder: Path) -> None:
        self.job = open_folder(folder / "sheets")
        self.kinds = kinds_of(self.job, load_kinds())
        self.made: dict[str, Compiled] = {}

    def answer(self, question: Mapping[str, str]) -> float | str:
        asked: Mapping[str, Callable[[Mapping[str, str]], float | str]] = {
            "volts": self._volts,
            "amps": self._amps,
            "watts": self._watts,
            "relay": lambda row: self._solved(row).relays[row["a"]],
            "meter_volts": lambda row: read_volts(self._bench(row), row["a"], row["b"]).value or 0.0,
            "meter_ohms": lambda row: read_ohms(self._bench(row), row["a"], row["b"]).value or float("inf"),
            "test_lamp": self._test_lamp,
            "rules": self._rules,
            "far_short": self._far_short,
        }
        return asked[question["ask"]](question)

    def _compiled(self, changes: str) -> Compiled:
        if changes not in self.made:
            self.made[changes] = compile_network(build_network(self.job, self.kinds, _changes(changes)))
        return self.made[changes]

    def _solved(self, row: Mapping[str, str]) -> Solved:
        return solve(self._compiled(row["changes"]), _state(row["state"]), _state(row["before"]) or None)

    def _bench(self, row: Mapping[str, str]) -> Bench:
        return Bench(job=self.job, kinds=self.kinds, changes=_changes(row["changes"]), state=_state(row["state"]))

    def _volts(self, row: Mapping[str, str]) -> float:
        """From `a` to `b`; several of each are added up; no `b` is the battery's earthed post."""
        volts = self._solved(row).volts
        ends = row["b"].split() or [""] * len(row["a"].split())
        total = 0.0
        for high, low in zip(row["a"].split(), ends, strict=True):
            pair = volts[high], 0.0 if low == "" else volts[low]
            if pair[0] is None or pair[1] is None:
                raise ValueError(f"{row['name']}: a floating point has no volts")
            total += pair[0] - pair[1]
        return total

    def _amps(self, row: Mapping[str, str]) -> float:
        return sum(self._solved(row).amps[name] for name in row["a"].split())

    def _watts(self, row: Mapping[str, str]) -> float:
        """Turned to heat in elements: volts from end to end times amps."""
        compiled, solved = self._compiled(row["changes"]), self._solved(row)
        nodes, total = compiled.network.nodes, 0.0
        for name in row["a"].split():
            element = next(one for one in compiled.network.elements if one.name == name)
            high, low = (solved.volts[nodes[end]] or 0.0 for end in (element.a, element.b))
            total += (high - low) * solved.amps[name]
        return total

    def _rules(self, row: Mapping[str, str]) -> str:
        """The rules of protection that a fuse `a` breaks, notes left out; `none` where it breaks none."""
        scene = scene_of(self.job, self.kinds, self._compiled(""))
        found = [one.finding for one in protection.sheet_findings(scene)]
        broken = {one.rule for one in found if one.at[0] == row["a"] and one.severity != "note"}
        return " ".join(sorted(broken)) or "none"

    def _far_short(self, row: Mapping[str, str]) -> float:
        """Amps of a dead short at the far end of a wire `b` behind a fuse `a`."""
        ground = protection.protection_ground(scene_of(self.job, self.kinds, self._compiled("")))
        [loop] = loop_of(ground.scene, ground.conduction, ground.limits, ground.fused.fuses[row["a"]])
        [wire] = ground.scene.compiled.elements_of[row["b"]]
        return short_a(loop, ground.scene.ends(wire)) or 0.0

    def _test_lamp(self, row: Mapping[str, str]) -> float:
        """Amps of a test lamp at `a` against `b`; its watts stand behind `a`: `X1.1 5`."""
        point, watt = row["a"].split()
        return read_lamp(self._bench(row), point, row["b"], float(watt)).value or 0.0
