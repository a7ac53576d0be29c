"""Programmes: series of sprays, with what is needed to lay their days out again."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "programmes",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("mix", sa.String(), nullable=False),
        sa.Column("oil_percent", sa.Double(), nullable=True),
        sa.Column("soap_percent", sa.Double(), nullable=True),
        sa.Column("cause", sa.String(), nullable=True),
        sa.Column("ended", sa.Date(), nullable=True),
        sa.Column("why_ended", sa.String(), nullable=True),
        sa.Column("outset", sa.JSON(), nullable=False),
        sa.Column("exported", sa.JSON(), nullable=True),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("observer", sa.String(), nullable=True),
        sa.Column("written", sa.DateTime(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("planting_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["planting_id"], ["plantings.id"], name=op.f("fk_programmes_planting_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_programmes")),
        sa.UniqueConstraint("uid", name=op.f("uq_programmes_uid")),
    )
    op.create_index(op.f("ix_programmes_date"), "programmes", ["date"], unique=False)
    op.create_index(op.f("ix_programmes_planting_id_date"), "programmes", ["planting_id", "date"], unique=False)
    op.create_index(op.f("ix_programmes_written"), "programmes", ["written"], unique=False)
