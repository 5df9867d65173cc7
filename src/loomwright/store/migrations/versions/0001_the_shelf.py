"""The shelf: jobs, revisions, edits, rows as they stand, photos, edits already answered."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """To this shape."""
    op.create_table(
        "jobs",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("made", sa.Text, nullable=False),
        sa.Column("next_key", sa.Integer, nullable=False),
        sa.UniqueConstraint("name", name="uq_jobs_name"),
    )
    op.create_table(
        "revisions",
        sa.Column("job", sa.Integer, sa.ForeignKey("jobs.id", name="fk_revisions_job"), primary_key=True),
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("time", sa.Text, nullable=False),
        sa.Column("who", sa.Text, nullable=False),
        sa.Column("why", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("turns", sa.Integer),
    )
    op.create_table(
        "edits",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("job", sa.Integer, sa.ForeignKey("jobs.id", name="fk_edits_job"), nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("sheet", sa.Text, nullable=False),
        sa.Column("row_key", sa.Integer, nullable=False),
        sa.Column("op", sa.Text, nullable=False),
        sa.Column("column", sa.Text, nullable=False),
        sa.Column("old", sa.Text, nullable=False),
        sa.Column("new", sa.Text, nullable=False),
        sa.Column("before", sa.Integer),
    )
    op.create_index("ix_edits_job_revision", "edits", ["job", "revision"])
    op.create_table(
        "rows",
        sa.Column("job", sa.Integer, sa.ForeignKey("jobs.id", name="fk_rows_job"), primary_key=True),
        sa.Column("sheet", sa.Text, primary_key=True),
        sa.Column("row_key", sa.Integer, primary_key=True),
        sa.Column("place", sa.Float, nullable=False),
        sa.Column("cells", sa.Text, nullable=False),
    )
    op.create_table(
        "photos",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("job", sa.Integer, sa.ForeignKey("jobs.id", name="fk_photos_job"), nullable=False),
        sa.Column("sheet", sa.Text, nullable=False),
        sa.Column("row", sa.Text, nullable=False),
        sa.Column("time", sa.Text, nullable=False),
        sa.Column("who", sa.Text, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("width_px", sa.Integer, nullable=False),
        sa.Column("height_px", sa.Integer, nullable=False),
        sa.Column("sha256", sa.Text, nullable=False),
        sa.Column("data", sa.LargeBinary, nullable=False),
        sa.UniqueConstraint("job", "sheet", "row", "sha256", name="uq_photos_once"),
    )
    op.create_table(
        "answered",
        sa.Column("job", sa.Integer, sa.ForeignKey("jobs.id", name="fk_answered_job"), primary_key=True),
        sa.Column("token", sa.Text, primary_key=True),
        sa.Column("revision", sa.Integer, nullable=False),
    )
