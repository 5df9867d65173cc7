"""`loomwright check JOB --mend`: small edits that were tried for each finding, and the job with them made."""

from __future__ import annotations

import sys
from pathlib import Path

from loomwright.car import Car
from loomwright.checked import Checked
from loomwright.cli.printing import as_json, counted, show, show_hanging, told
from loomwright.findings import Finding, as_plain, says
from loomwright.job.job import Job
from loomwright.sheets.csv_folder import write_folder
from loomwright.trials.edits import AddedRow, Edit, edits_plain
from loomwright.trials.in_turn import InTurn, mended_in_turn
from loomwright.trials.mend import Mend, Mends, cost_words, mends_plain

__all__ = ["run_mends"]

_ASKED = ("fault", "warning")
_GAP = " " * 8


def run_mends(car: Car, checked: Checked, folder: str, *, as_plain_data: bool) -> int:
    """Show the mends of every finding, or make the first of each in turn; gives the exit code."""
    if folder:
        return _make(car, checked, Path(folder), as_plain_data=as_plain_data)
    asked = [finding for finding in checked.findings if finding.severity in _ASKED]
    found: list[Mends] = []
    for number, finding in enumerate(asked, start=1):
        _count(number, len(asked), finding)
        mends = car.mends(finding)
        found.append(mends)
        if not as_plain_data:
            _show(mends)
    if as_plain_data:
        as_json({"mends": [mends_plain(mends) for mends in found]})
    else:
        cured = sum(bool(mends.offered) for mends in found)
        show(f"{counted(len(found), 'finding')}; a mend that holds for {cured}.")
    return 1 if checked.worst in _ASKED else 0


def _make(car: Car, checked: Checked, folder: Path, *, as_plain_data: bool) -> int:
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise told(f"{folder} is there already", "a new or empty folder", "Name another one")

    def mends_of(job: Job, findings: tuple[Finding, ...], finding: Finding, tell: object) -> Mends:
        return Car(job, car.kinds).mends(finding, most=1, among=findings)

    def count(done: int, of: int) -> None:
        _count(done + 1, of, None)

    turned = mended_in_turn(car.job, checked.findings, mends_of, tell=count)
    write_folder(turned.job, folder)
    if as_plain_data:
        as_json(_plain(turned, folder))
    else:
        _show_turned(turned, folder)
    return 1 if any(one.severity in _ASKED for one in turned.left) else 0


def _plain(turned: InTurn, folder: Path) -> dict[str, object]:
    return {
        "steps": [
            {
                "finding": as_plain(step.finding),
                "mend": step.mend.says if step.mend is not None else None,
                "edits": edits_plain(step.mend.edits) if step.mend is not None else [],
            }
            for step in turned.steps
        ],
        "left": [as_plain(one) for one in turned.left],
        "written": str(folder),
    }


def _show_turned(turned: InTurn, folder: Path) -> None:
    for step in turned.steps:
        show_hanging(f"{step.finding.severity.upper():8}{step.finding.rule:7}{says(step.finding)}", _GAP + " " * 7)
        if step.mend is None:
            show(f"{_GAP}no mend that was tried holds")
        else:
            _show_mend(step.mend)
    left = sum(one.severity == "fault" for one in turned.left)
    made = sum(step.mend is not None for step in turned.steps)
    show(f"{counted(made, 'mend')} made; {counted(left, 'fault')} left. Written into {folder}.")


def _show(mends: Mends) -> None:
    finding = mends.finding
    show_hanging(f"{finding.severity.upper():8}{finding.rule:7}{says(finding)}", _GAP + " " * 7)
    if not mends.offered:
        show(f"{_GAP}{counted(len(mends.turned), 'mend')} tried; none holds")
        for one in mends.turned[:2]:
            show_hanging(f"{_GAP}not: {one.says}: {one.why}", _GAP + "     ")
    for mend in mends.offered:
        _show_mend(mend)


def _show_mend(mend: Mend) -> None:
    show_hanging(f"{_GAP}mend: {mend.says}.", _GAP + "      ")
    for edit in mend.edits:
        show_hanging(f"{_GAP}  {_words(edit)}", _GAP + "    ")
    if len(mend.gone) > 1:
        show(f"{_GAP}  gone with it: " + ", ".join(_short(one) for one in mend.gone[1:]))
    if mend.came:
        show(f"{_GAP}  comes with it: " + ", ".join(_short(one) for one in mend.came))
    for line in cost_words(mend):
        show_hanging(f"{_GAP}  takes {line}", _GAP + "    ")


def _words(edit: Edit) -> str:
    if isinstance(edit, AddedRow):
        return f"{edit.sheet}: new row " + ", ".join(f"{name} {text}" for name, text in edit.cells.items())
    return f"{edit.sheet} {edit.row}, {edit.column}: {edit.old or 'blank'} -> {edit.new or 'blank'}"


def _short(finding: Finding) -> str:
    return f"{finding.rule} {finding.at[0]}" if finding.at else finding.rule


def _count(done: int, of: int, finding: Finding | None) -> None:
    if sys.stderr.isatty():
        sys.stderr.write(f"\rmends of finding {done} of {of}" + ("\n" if done >= of else ""))
        sys.stderr.flush()
