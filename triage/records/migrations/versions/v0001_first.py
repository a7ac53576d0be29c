"""The first schema: gardens, beds, plantings, and all that is seen and done on them."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "drafts",
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("saved", sa.DateTime(), nullable=False),
        sa.Column("data", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_drafts")),
    )
    op.create_table(
        "gardens",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("region", sa.String(), nullable=True),
        sa.Column("country", sa.String(), nullable=True),
        sa.Column("hemisphere", sa.String(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_gardens")),
        sa.UniqueConstraint("name", name=op.f("uq_gardens_name")),
        sa.UniqueConstraint("uid", name=op.f("uq_gardens_uid")),
    )
    op.create_table(
        "trace",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("written", sa.DateTime(), nullable=False),
        sa.Column("who", sa.String(), nullable=True),
        sa.Column("change", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("row", sa.String(), nullable=False),
        sa.Column("before", sa.JSON(), nullable=False),
        sa.Column("after", sa.JSON(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_trace")),
        sa.UniqueConstraint("uid", name=op.f("uq_trace_uid")),
    )
    op.create_index(op.f("ix_trace_row"), "trace", ["row"], unique=False)
    op.create_table(
        "beds",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("garden_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["garden_id"], ["gardens.id"], name=op.f("fk_beds_garden_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_beds")),
        sa.UniqueConstraint("garden_id", "name", name=op.f("uq_beds_garden_id_name")),
        sa.UniqueConstraint("uid", name=op.f("uq_beds_uid")),
    )
    op.create_table(
        "plantings",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("bed_id", sa.Integer(), nullable=False),
        sa.Column("crop", sa.String(), nullable=False),
        sa.Column("variety", sa.String(), nullable=True),
        sa.Column("sown", sa.Date(), nullable=True),
        sa.Column("planted", sa.Date(), nullable=True),
        sa.Column("removed", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(["bed_id"], ["beds.id"], name=op.f("fk_plantings_bed_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plantings")),
        sa.UniqueConstraint("uid", name=op.f("uq_plantings_uid")),
    )
    op.create_index(op.f("ix_plantings_bed_id"), "plantings", ["bed_id"], unique=False)
    op.create_table(
        "actions",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("means", sa.String(), nullable=True),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("observer", sa.String(), nullable=True),
        sa.Column("written", sa.DateTime(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("planting_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["planting_id"], ["plantings.id"], name=op.f("fk_actions_planting_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_actions")),
        sa.UniqueConstraint("uid", name=op.f("uq_actions_uid")),
    )
    op.create_index(op.f("ix_actions_date"), "actions", ["date"], unique=False)
    op.create_index(op.f("ix_actions_planting_id_date"), "actions", ["planting_id", "date"], unique=False)
    op.create_index(op.f("ix_actions_written"), "actions", ["written"], unique=False)
    op.create_table(
        "counts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("looked", sa.Integer(), nullable=True),
        sa.Column("infested", sa.Integer(), nullable=True),
        sa.Column("pests", sa.Integer(), nullable=True),
        sa.Column("damage", sa.Double(), nullable=True),
        sa.Column("sprayed", sa.Boolean(), nullable=True),
        sa.Column("cause", sa.String(), nullable=True),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("observer", sa.String(), nullable=True),
        sa.Column("written", sa.DateTime(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("planting_id", sa.Integer(), nullable=False),
        sa.CheckConstraint("damage >= 0 AND damage <= 100", name=op.f("ck_counts_damage_is_percent")),
        sa.CheckConstraint("infested >= 0 AND infested <= looked", name=op.f("ck_counts_infested_within_looked")),
        sa.ForeignKeyConstraint(["planting_id"], ["plantings.id"], name=op.f("fk_counts_planting_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_counts")),
        sa.UniqueConstraint("uid", name=op.f("uq_counts_uid")),
    )
    op.create_index(op.f("ix_counts_date"), "counts", ["date"], unique=False)
    op.create_index(op.f("ix_counts_planting_id_date"), "counts", ["planting_id", "date"], unique=False)
    op.create_index(op.f("ix_counts_written"), "counts", ["written"], unique=False)
    op.create_table(
        "harvests",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("amount", sa.Double(), nullable=True),
        sa.Column("unit", sa.String(), nullable=True),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("observer", sa.String(), nullable=True),
        sa.Column("written", sa.DateTime(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("planting_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["planting_id"], ["plantings.id"], name=op.f("fk_harvests_planting_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_harvests")),
        sa.UniqueConstraint("uid", name=op.f("uq_harvests_uid")),
    )
    op.create_index(op.f("ix_harvests_date"), "harvests", ["date"], unique=False)
    op.create_index(op.f("ix_harvests_planting_id_date"), "harvests", ["planting_id", "date"], unique=False)
    op.create_index(op.f("ix_harvests_written"), "harvests", ["written"], unique=False)
    op.create_table(
        "notes",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("text", sa.String(), nullable=False),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("observer", sa.String(), nullable=True),
        sa.Column("written", sa.DateTime(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("planting_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["planting_id"], ["plantings.id"], name=op.f("fk_notes_planting_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_notes")),
        sa.UniqueConstraint("uid", name=op.f("uq_notes_uid")),
    )
    op.create_index(op.f("ix_notes_date"), "notes", ["date"], unique=False)
    op.create_index(op.f("ix_notes_planting_id_date"), "notes", ["planting_id", "date"], unique=False)
    op.create_index(op.f("ix_notes_written"), "notes", ["written"], unique=False)
    op.create_table(
        "sprays",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("mix", sa.String(), nullable=False),
        sa.Column("oil_percent", sa.Double(), nullable=True),
        sa.Column("soap_percent", sa.Double(), nullable=True),
        sa.Column("volume_ml", sa.Double(), nullable=True),
        sa.Column("round", sa.Integer(), nullable=True),
        sa.Column("weather", sa.String(), nullable=True),
        sa.Column("cause", sa.String(), nullable=True),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("observer", sa.String(), nullable=True),
        sa.Column("written", sa.DateTime(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("planting_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["planting_id"], ["plantings.id"], name=op.f("fk_sprays_planting_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sprays")),
        sa.UniqueConstraint("uid", name=op.f("uq_sprays_uid")),
    )
    op.create_index(op.f("ix_sprays_date"), "sprays", ["date"], unique=False)
    op.create_index(op.f("ix_sprays_planting_id_date"), "sprays", ["planting_id", "date"], unique=False)
    op.create_index(op.f("ix_sprays_written"), "sprays", ["written"], unique=False)
    op.create_table(
        "test_patches",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("mix", sa.String(), nullable=False),
        sa.Column("oil_percent", sa.Double(), nullable=True),
        sa.Column("soap_percent", sa.Double(), nullable=True),
        sa.Column("plants", sa.Integer(), nullable=True),
        sa.Column("look_on", sa.Date(), nullable=False),
        sa.Column("looked_on", sa.Date(), nullable=True),
        sa.Column("result", sa.String(), nullable=True),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("observer", sa.String(), nullable=True),
        sa.Column("written", sa.DateTime(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("planting_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["planting_id"], ["plantings.id"], name=op.f("fk_test_patches_planting_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_test_patches")),
        sa.UniqueConstraint("uid", name=op.f("uq_test_patches_uid")),
    )
    op.create_index(op.f("ix_test_patches_date"), "test_patches", ["date"], unique=False)
    op.create_index(op.f("ix_test_patches_planting_id_date"), "test_patches", ["planting_id", "date"], unique=False)
    op.create_index(op.f("ix_test_patches_written"), "test_patches", ["written"], unique=False)
    op.create_table(
        "visits",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("look_again", sa.Date(), nullable=True),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("observer", sa.String(), nullable=True),
        sa.Column("written", sa.DateTime(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("planting_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["planting_id"], ["plantings.id"], name=op.f("fk_visits_planting_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_visits")),
        sa.UniqueConstraint("uid", name=op.f("uq_visits_uid")),
    )
    op.create_index(op.f("ix_visits_date"), "visits", ["date"], unique=False)
    op.create_index(op.f("ix_visits_look_again"), "visits", ["look_again"], unique=False)
    op.create_index(op.f("ix_visits_planting_id_date"), "visits", ["planting_id", "date"], unique=False)
    op.create_index(op.f("ix_visits_written"), "visits", ["written"], unique=False)
    op.create_table(
        "cases",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("visit_id", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("class_id", sa.String(), nullable=False),
        sa.Column("cause", sa.String(), nullable=False),
        sa.Column("cause_name", sa.String(), nullable=False),
        sa.Column("chance", sa.Double(), nullable=False),
        sa.Column("advice", sa.String(), nullable=False),
        sa.Column("severity", sa.String(), nullable=True),
        sa.Column("new_growth", sa.String(), nullable=True),
        sa.Column("knowledge", sa.String(), nullable=False),
        sa.Column("answers", sa.JSON(), nullable=False),
        sa.Column("verdict", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["visit_id"], ["visits.id"], name=op.f("fk_cases_visit_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_cases")),
        sa.UniqueConstraint("uid", name=op.f("uq_cases_uid")),
    )
    op.create_index(op.f("ix_cases_class_id"), "cases", ["class_id"], unique=False)
    op.create_index(op.f("ix_cases_visit_id"), "cases", ["visit_id"], unique=False)
    op.create_table(
        "confirmations",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("cause", sa.String(), nullable=False),
        sa.Column("by_whom", sa.String(), nullable=False),
        sa.Column("case_id", sa.Integer(), nullable=True),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("observer", sa.String(), nullable=True),
        sa.Column("written", sa.DateTime(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("planting_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["case_id"], ["cases.id"], name=op.f("fk_confirmations_case_id")),
        sa.ForeignKeyConstraint(["planting_id"], ["plantings.id"], name=op.f("fk_confirmations_planting_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_confirmations")),
        sa.UniqueConstraint("uid", name=op.f("uq_confirmations_uid")),
    )
    op.create_index(op.f("ix_confirmations_case_id"), "confirmations", ["case_id"], unique=False)
    op.create_index(op.f("ix_confirmations_date"), "confirmations", ["date"], unique=False)
    op.create_index(op.f("ix_confirmations_planting_id_date"), "confirmations", ["planting_id", "date"], unique=False)
    op.create_index(op.f("ix_confirmations_written"), "confirmations", ["written"], unique=False)
