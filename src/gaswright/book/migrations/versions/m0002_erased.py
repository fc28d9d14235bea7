"""The marks of what was erased, so that a merge does not bring it back."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "erased", sa.Column("mark", TEXT, nullable=False), sa.PrimaryKeyConstraint("mark"), sqlite_strict=True,
    )
