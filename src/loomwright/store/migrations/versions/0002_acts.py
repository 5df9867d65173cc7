"""What was done away from the desk, by the id it was given there: sent twice it counts once."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """To this shape."""
    op.create_table(
        "acts",
        sa.Column("job", sa.Integer, sa.ForeignKey("jobs.id", name="fk_acts_job"), primary_key=True),
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("device", sa.Text, nullable=False),
        sa.Column("made", sa.Text, nullable=False),
        sa.Column("taken", sa.Text, nullable=False),
        sa.Column("base", sa.Integer, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("outcome", sa.Text, nullable=False),
        sa.Column("sheet", sa.Text, nullable=False),
        sa.Column("row_key", sa.Integer),
        sa.Column("cells", sa.Text, nullable=False),
        sa.Column("theirs", sa.Text, nullable=False),
    )
