"""Which tables does the shelf have?

    jobs       one row a job
    revisions  one row an accepted change: who, why, when; never altered
    edits      what each revision did to each row, so that it can be told and turned round; never altered
    rows       the rows as they stand now; could be made again from `edits`
    photos     pictures, re-encoded, by sheet and row
    answered   edits that were sent with a word of their own, so that sending one twice does it once
    acts       what was done away from the desk, by the id it was given there, and what became of it

The shape is changed by a migration in `migrations/versions`, never here alone; a test holds the two together.
"""

from __future__ import annotations

from sqlalchemy import Column, Float, ForeignKey, Index, Integer, LargeBinary, MetaData, Table, Text, UniqueConstraint

__all__ = ["METADATA", "acts", "answered", "edits", "jobs", "photos", "revisions", "rows"]

METADATA = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "ix": "ix_%(table_name)s_%(column_0_name)s",
    }
)

jobs = Table(
    "jobs",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("name", Text, nullable=False, unique=True),
    Column("made", Text, nullable=False),
    Column("next_key", Integer, nullable=False),
)

revisions = Table(
    "revisions",
    METADATA,
    Column("job", Integer, ForeignKey("jobs.id"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("time", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("why", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("turns", Integer),
)

edits = Table(
    "edits",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("job", Integer, ForeignKey("jobs.id"), nullable=False),
    Column("revision", Integer, nullable=False),
    Column("sheet", Text, nullable=False),
    Column("row_key", Integer, nullable=False),
    Column("op", Text, nullable=False),
    Column("column", Text, nullable=False),
    Column("old", Text, nullable=False),
    Column("new", Text, nullable=False),
    Column("before", Integer),
    Index("ix_edits_job_revision", "job", "revision"),
)

rows = Table(
    "rows",
    METADATA,
    Column("job", Integer, ForeignKey("jobs.id"), primary_key=True),
    Column("sheet", Text, primary_key=True),
    Column("row_key", Integer, primary_key=True),
    Column("place", Float, nullable=False),
    Column("cells", Text, nullable=False),
)

photos = Table(
    "photos",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("job", Integer, ForeignKey("jobs.id"), nullable=False),
    Column("sheet", Text, nullable=False),
    Column("row", Text, nullable=False),
    Column("time", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("note", Text, nullable=False),
    Column("width_px", Integer, nullable=False),
    Column("height_px", Integer, nullable=False),
    Column("sha256", Text, nullable=False),
    Column("data", LargeBinary, nullable=False),
    UniqueConstraint("job", "sheet", "row", "sha256", name="uq_photos_once"),
)

answered = Table(
    "answered",
    METADATA,
    Column("job", Integer, ForeignKey("jobs.id"), primary_key=True),
    Column("token", Text, primary_key=True),
    Column("revision", Integer, nullable=False),
)

acts = Table(
    "acts",
    METADATA,
    Column("job", Integer, ForeignKey("jobs.id"), primary_key=True),
    Column("id", Text, primary_key=True),
    Column("device", Text, nullable=False),
    Column("made", Text, nullable=False),
    Column("taken", Text, nullable=False),
    Column("base", Integer, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("outcome", Text, nullable=False),
    Column("sheet", Text, nullable=False),
    Column("row_key", Integer),
    Column("cells", Text, nullable=False),
    Column("theirs", Text, nullable=False),
)
