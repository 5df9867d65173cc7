"""What does the list of recorded drives say: which there are, what may be taken in, which fuel table the job keeps?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loomwright.pages.addresses import job_path
from loomwright.store.log_files import KINDS, MOST_BYTES, KeptLog

__all__ = ["LogLine", "LogsPage", "logs_page"]

_MB = 1024 * 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class LogLine:
    """One recorded drive in the list."""

    name: str
    href: str
    size: str
    time: str
    drop: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LogsPage:
    """The list. most_mb: the largest that is taken in. [MB]   has_table: the job keeps its fuel table."""

    lines: tuple[LogLine, ...]
    send: str
    kinds: str
    most_mb: int
    dyno: str
    table: str
    table_text: str
    has_table: bool


def logs_page(job: str, logs: Sequence[KeptLog], table_text: str) -> LogsPage:
    """The list of a job.

    Args:
        table_text: the job's fuel table as text; empty where it keeps none.
    """
    here = job_path(job, "logs")
    return LogsPage(
        lines=tuple(
            LogLine(
                name=one.name,
                href=f"{here}/{one.key}",
                size=f"{one.size / _MB:.1f} MB",
                time=one.time,
                drop=f"{here}/{one.key}/drop",
            )
            for one in logs
        ),
        send=here,
        kinds=",".join(KINDS),
        most_mb=MOST_BYTES // _MB,
        dyno=job_path(job, "dyno"),
        table=f"{here}/table",
        table_text=table_text,
        has_table=bool(table_text),
    )
