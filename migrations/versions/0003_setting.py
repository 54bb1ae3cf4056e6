"""What stands between mixing and hard: lots, cups for many rods, sensors, moves, turners, moments, feeds.

Revision ID: 0003
Revises: 0002
"""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"

_DAY = '["08:00", "17:00"]'
HOURS = f"[{', '.join([_DAY] * 5)}, null, null]"
# Table, column, type, and what the rows that are there already get (none: they may stay without).
ADDED = (
    ("adhesives", "turn_minutes", sa.Double(), None),
    ("adhesives", "opened_life_days", sa.Integer(), None),
    ("adhesives", "sheet_date", sa.Date(), None),
    ("adhesives", "ready_made", sa.String(length=60), ""),
    ("adhesives", "confirmed_at", sa.DateTime(timezone=True), None),
    ("adhesives", "confirmed_by", sa.String(length=80), ""),
    ("mixes", "turn_minutes", sa.Double(), None),
    ("mixes", "amount_a_ml", sa.Double(), None),
    ("mixes", "amount_b_ml", sa.Double(), None),
    ("mixes", "planned_minutes", sa.Double(), None),
    ("mixes", "releases", sa.JSON(), "[]"),
    ("readings", "source", sa.String(length=10), "hand"),
    ("shop", "hours", sa.JSON(), HOURS),
    ("shop", "closed_on", sa.JSON(), "[]"),
    ("suspicions", "recheck_at", sa.DateTime(timezone=True), None),
)
# Table, column, and the table that it points into.
POINTING = (
    ("mixes", "lot_a_id", "lots"),
    ("mixes", "lot_b_id", "lots"),
    ("readings", "sensor_id", "sensors"),
)
MADE = (
    "seen_moments", "calendar_feeds", "lots", "sensors", "turners", "lot_events", "turner_checks",
    "turner_stops", "servings", "stopped_rods", "turner_stays", "cure_moves",
)  # fmt: skip


def upgrade():
    op.create_table(
        "seen_moments",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=80), nullable=False),
        sa.Column("seen_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_seen_moments")),
        sa.UniqueConstraint("key", name=op.f("uq_seen_moments_key")),
    )
    op.create_index(op.f("ix_seen_moments_seen_at"), "seen_moments", ["seen_at"], unique=False)

    op.create_table(
        "calendar_feeds",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("user_id", sa.Integer(), nullable=False),
        sa.Column("nonce", sa.String(length=64), nullable=False),
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["user_id"], ["users.id"], name=op.f("fk_calendar_feeds_user_id_users")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_calendar_feeds")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_calendar_feeds_token_hash")),
    )
    op.create_index(op.f("ix_calendar_feeds_user_id"), "calendar_feeds", ["user_id"], unique=False)

    op.create_table(
        "lots",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("adhesive_id", sa.Integer(), nullable=False),
        sa.Column("part", sa.String(length=3), nullable=False),
        sa.Column("number", sa.String(length=60), nullable=False),
        sa.Column("received_on", sa.Date(), nullable=False),
        sa.Column("opened_on", sa.Date(), nullable=True),
        sa.Column("use_by", sa.Date(), nullable=True),
        sa.Column("opened_life_days", sa.Integer(), nullable=True),
        sa.Column("position", sa.String(length=60), nullable=False),
        sa.Column("amount_ml", sa.Double(), nullable=True),
        sa.Column("emptied_on", sa.Date(), nullable=True),
        sa.Column("quarantined_reason", sa.String(length=500), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["adhesive_id"], ["adhesives.id"], name=op.f("fk_lots_adhesive_id_adhesives")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lots")),
    )
    op.create_index(op.f("ix_lots_adhesive_id"), "lots", ["adhesive_id"], unique=False)

    op.create_table(
        "sensors",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("zone_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=60), nullable=False),
        sa.Column("topic", sa.String(length=200), nullable=True),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["zone_id"], ["zones.id"], name=op.f("fk_sensors_zone_id_zones")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sensors")),
        sa.UniqueConstraint("name", name=op.f("uq_sensors_name")),
        sa.UniqueConstraint("topic", name=op.f("uq_sensors_topic")),
    )
    op.create_index(op.f("ix_sensors_zone_id"), "sensors", ["zone_id"], unique=False)

    op.create_table(
        "turners",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=60), nullable=False),
        sa.Column("places", sa.Integer(), nullable=False),
        sa.Column("check_minutes", sa.Integer(), nullable=False),
        sa.Column("zone_id", sa.Integer(), nullable=True),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["zone_id"], ["zones.id"], name=op.f("fk_turners_zone_id_zones")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_turners")),
        sa.UniqueConstraint("name", name=op.f("uq_turners_name")),
    )
    op.create_table(
        "lot_events",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("note", sa.String(length=500), nullable=False),
        sa.ForeignKeyConstraint(["lot_id"], ["lots.id"], name=op.f("fk_lot_events_lot_id_lots")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lot_events")),
    )
    op.create_index(op.f("ix_lot_events_lot_id"), "lot_events", ["lot_id"], unique=False)

    op.create_table(
        "turner_checks",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("turner_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.ForeignKeyConstraint(
            ["turner_id"], ["turners.id"], name=op.f("fk_turner_checks_turner_id_turners")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_turner_checks")),
    )
    op.create_index("ix_turner_checks_turner_id_at", "turner_checks", ["turner_id", "at"], unique=False)

    op.create_table(
        "turner_stops",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("turner_id", sa.Integer(), nullable=False),
        sa.Column("stopped_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("note", sa.String(length=500), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("ended_by", sa.String(length=80), nullable=False),
        sa.ForeignKeyConstraint(
            ["turner_id"], ["turners.id"], name=op.f("fk_turner_stops_turner_id_turners")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_turner_stops")),
    )
    op.create_index(op.f("ix_turner_stops_turner_id"), "turner_stops", ["turner_id"], unique=False)

    op.create_table(
        "servings",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("mix_id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.String(length=60), nullable=False),
        sa.Column("left_out_reason", sa.String(length=500), nullable=False),
        sa.Column("left_out_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("left_out_by", sa.String(length=80), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_servings_build_id_builds")),
        sa.ForeignKeyConstraint(["mix_id"], ["mixes.id"], name=op.f("fk_servings_mix_id_mixes")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_servings")),
        sa.UniqueConstraint("mix_id", "build_id", "place", name=op.f("uq_servings_mix_id_build_id_place")),
    )
    op.create_index(op.f("ix_servings_build_id"), "servings", ["build_id"], unique=False)

    op.create_table(
        "stopped_rods",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("stop_id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("section", sa.Integer(), nullable=False),
        sa.Column("turned_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("turned_by", sa.String(length=80), nullable=False),
        sa.Column("inspected_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("inspected_by", sa.String(length=80), nullable=False),
        sa.Column("outcome", sa.String(length=10), nullable=False),
        sa.Column("note", sa.String(length=500), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_stopped_rods_build_id_builds")),
        sa.ForeignKeyConstraint(
            ["stop_id"], ["turner_stops.id"], name=op.f("fk_stopped_rods_stop_id_turner_stops")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stopped_rods")),
        sa.UniqueConstraint(
            "stop_id", "build_id", "section", name=op.f("uq_stopped_rods_stop_id_build_id_section")
        ),
    )
    op.create_index(op.f("ix_stopped_rods_build_id"), "stopped_rods", ["build_id"], unique=False)

    op.create_table(
        "turner_stays",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("turner_id", sa.Integer(), nullable=False),
        sa.Column("place_number", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("section", sa.Integer(), nullable=False),
        sa.Column("on_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("off_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("off_by", sa.String(length=80), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_turner_stays_build_id_builds")),
        sa.ForeignKeyConstraint(
            ["turner_id"], ["turners.id"], name=op.f("fk_turner_stays_turner_id_turners")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_turner_stays")),
    )
    op.create_index(op.f("ix_turner_stays_build_id"), "turner_stays", ["build_id"], unique=False)
    op.create_index(
        "ix_turner_stays_on",
        "turner_stays",
        ["turner_id"],
        unique=False,
        sqlite_where=sa.text("off_at IS NULL"),
        postgresql_where=sa.text("off_at IS NULL"),
    )

    op.create_table(
        "cure_moves",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cure_id", sa.Integer(), nullable=False),
        sa.Column("zone_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("undone_reason", sa.String(length=500), nullable=False),
        sa.Column("undone_by", sa.String(length=80), nullable=False),
        sa.ForeignKeyConstraint(["cure_id"], ["cures.id"], name=op.f("fk_cure_moves_cure_id_cures")),
        sa.ForeignKeyConstraint(["zone_id"], ["zones.id"], name=op.f("fk_cure_moves_zone_id_zones")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_cure_moves")),
    )
    op.create_index(op.f("ix_cure_moves_cure_id"), "cure_moves", ["cure_id"], unique=False)

    for table, name, kind, given in ADDED:
        # A plain ADD COLUMN with a default: making the table anew would break what refers to it.
        op.add_column(table, sa.Column(name, kind, nullable=given is None, server_default=given))
    for table, name, target in POINTING:
        # The reference stands in the column itself, the one place where SQLite takes a further one.
        named = sa.ForeignKey(f"{target}.id", name=op.f(f"fk_{table}_{name}_{target}"))
        op.add_column(table, sa.Column(name, sa.Integer(), named), inline_references=True)
    for name in ("lot_a_id", "lot_b_id"):
        op.create_index(op.f(f"ix_mixes_{name}"), "mixes", [name])
    op.create_index("ix_readings_sensor_id_at", "readings", ["sensor_id", "at"])


def downgrade():
    op.drop_index("ix_readings_sensor_id_at", "readings")
    for name in ("lot_a_id", "lot_b_id"):
        op.drop_index(op.f(f"ix_mixes_{name}"), "mixes")
    for table, name, _target in POINTING:
        with op.batch_alter_table(table) as batch:
            batch.drop_column(name)
    for table, name, _kind, _given in reversed(ADDED):
        op.drop_column(table, name)
    for table in reversed(MADE):
        op.drop_table(table)
