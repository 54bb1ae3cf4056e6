"""The working core: every first table, the one-row tables' rows, and the record that cannot be changed.

Revision ID: 0001
Revises:
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

# The record of events is evidence: the database itself refuses to change or delete it.
SQLITE_GUARD = """
CREATE TRIGGER events_no_{verb} BEFORE {verb} ON events
BEGIN SELECT RAISE(ABORT, 'events are never changed or deleted'); END
"""
# INSERT OR REPLACE deletes the row in its way without asking the trigger on DELETE.
SQLITE_GUARD_OF_REPLACING = """
CREATE TRIGGER events_no_replacing BEFORE INSERT ON events
WHEN EXISTS (SELECT 1 FROM events WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'events are never changed or deleted'); END
"""
POSTGRESQL_FUNCTION = """
CREATE FUNCTION refuse_event_change() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION 'events are never changed or deleted'; END $$
"""
POSTGRESQL_GUARD = """
CREATE TRIGGER events_no_change BEFORE UPDATE OR DELETE OR TRUNCATE ON events
FOR EACH STATEMENT EXECUTE FUNCTION refuse_event_change()
"""


def guard_events():
    """Make the database refuse an update or a delete of an event."""
    if op.get_bind().dialect.name == "postgresql":
        op.execute(POSTGRESQL_FUNCTION)
        op.execute(POSTGRESQL_GUARD)
    else:
        for verb in ("UPDATE", "DELETE"):
            op.execute(SQLITE_GUARD.format(verb=verb))
        op.execute(SQLITE_GUARD_OF_REPLACING)


def fill_one_row_tables():
    """The shop's settings begin with careful figures; an owner edits them."""
    op.execute(
        "INSERT INTO shop (id, name, time_zone, currency, credit_cap, reading_gap_minutes, version)"
        " VALUES (1, 'Our shop', 'UTC', 'EUR', 1.0, 60.0, 1)"
    )
    # PostgreSQL would read an instant without a zone in the server's own.
    zone = "+00" if op.get_bind().dialect.name == "postgresql" else ""
    op.execute(f"INSERT INTO change (id, last_at) VALUES (1, '1970-01-01 00:00:00{zone}')")


def upgrade():
    op.create_table(
        "adhesives",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("use", sa.String(length=10), nullable=False),
        sa.Column("parts_a", sa.Double(), nullable=False),
        sa.Column("parts_b", sa.Double(), nullable=False),
        sa.Column("density_a", sa.Double(), nullable=True),
        sa.Column("density_b", sa.Double(), nullable=True),
        sa.Column("reference_c", sa.Double(), nullable=False),
        sa.Column("pot_life_minutes", sa.Double(), nullable=False),
        sa.Column("set_minutes", sa.Double(), nullable=False),
        sa.Column("full_cure_minutes", sa.Double(), nullable=False),
        sa.Column("recoat_from_minutes", sa.Double(), nullable=True),
        sa.Column("recoat_until_minutes", sa.Double(), nullable=True),
        sa.Column("coldest_c", sa.Double(), nullable=True),
        sa.Column("doubling_c", sa.Double(), nullable=True),
        sa.Column("source", sa.String(length=300), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_adhesives")),
        sa.UniqueConstraint("name", name=op.f("uq_adhesives_name")),
    )
    op.create_table(
        "api_keys",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("scope", sa.String(length=10), nullable=False),
        sa.Column("key_hash", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_api_keys")),
        sa.UniqueConstraint("key_hash", name=op.f("uq_api_keys_key_hash")),
    )
    op.create_table(
        "blanks",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("maker", sa.String(length=120), nullable=False),
        sa.Column("model", sa.String(length=120), nullable=False),
        sa.Column("length_nm", sa.BigInteger(), nullable=False),
        sa.Column("pieces", sa.Integer(), nullable=False),
        sa.Column("mass_mg", sa.Integer(), nullable=True),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_blanks")),
    )
    op.create_table(
        "change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("last_at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_change_one_row")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_change")),
    )
    op.create_table(
        "clock_doubts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("reason", sa.String(length=300), nullable=False),
        sa.Column("raised_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("confirmed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("confirmed_by", sa.String(length=80), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_clock_doubts")),
    )
    op.create_table(
        "components",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("dimensions", sa.JSON(), nullable=False),
        sa.Column("price_cents", sa.Integer(), nullable=True),
        sa.Column("cost_cents", sa.Integer(), nullable=True),
        sa.Column("currency", sa.String(length=3), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_components")),
    )
    with op.batch_alter_table("components", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_components_kind"), ["kind"], unique=False)

    op.create_table(
        "customers",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("email", sa.String(length=254), nullable=False),
        sa.Column("phone", sa.String(length=40), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_customers")),
    )
    with op.batch_alter_table("customers", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_customers_name"), ["name"], unique=False)

    op.create_table(
        "first_answers",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("actor", sa.String(length=80), nullable=False),
        sa.Column("key", sa.String(length=200), nullable=False),
        sa.Column("fingerprint", sa.String(length=64), nullable=False),
        sa.Column("status", sa.Integer(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_first_answers")),
        sa.UniqueConstraint("actor", "key", name=op.f("uq_first_answers_actor_key")),
    )
    op.create_table(
        "sequences",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("family_id", sa.Integer(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("rod_kind", sa.String(length=20), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["family_id"], ["sequences.id"], name=op.f("fk_sequences_family_id_sequences")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sequences")),
        sa.UniqueConstraint("family_id", "version", name=op.f("uq_sequences_family_id_version")),
    )
    op.create_table(
        "shop",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("time_zone", sa.String(length=60), nullable=False),
        sa.Column("currency", sa.String(length=3), nullable=False),
        sa.Column("credit_cap", sa.Double(), nullable=False),
        sa.Column("reading_gap_minutes", sa.Double(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_shop_one_row")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_shop")),
    )
    op.create_table(
        "sign_in_attempts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name_key", sa.String(length=80), nullable=False),
        sa.Column("address", sa.String(length=60), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sign_in_attempts")),
    )
    with op.batch_alter_table("sign_in_attempts", schema=None) as batch_op:
        batch_op.create_index("ix_sign_in_attempts_name_key_at", ["name_key", "at"], unique=False)

    op.create_table(
        "users",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("name_key", sa.String(length=80), nullable=False),
        sa.Column("role", sa.String(length=10), nullable=False),
        sa.Column("password_hash", sa.String(length=200), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_users")),
        sa.UniqueConstraint("name_key", name=op.f("uq_users_name_key")),
    )
    op.create_table(
        "zones",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=60), nullable=False),
        sa.Column("assumed_c", sa.Double(), nullable=False),
        sa.Column("readings_version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_zones")),
        sa.UniqueConstraint("name", name=op.f("uq_zones_name")),
    )
    op.create_table(
        "mixes",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("root_id", sa.Integer(), nullable=True),
        sa.Column("superseded_by_id", sa.Integer(), nullable=True),
        sa.Column("correction_reason", sa.String(length=500), nullable=False),
        sa.Column("adhesive_id", sa.Integer(), nullable=False),
        sa.Column("zone_id", sa.Integer(), nullable=False),
        sa.Column("mixed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("adhesive_name", sa.String(length=120), nullable=False),
        sa.Column("use", sa.String(length=10), nullable=False),
        sa.Column("reference_c", sa.Double(), nullable=False),
        sa.Column("pot_life_minutes", sa.Double(), nullable=False),
        sa.Column("set_minutes", sa.Double(), nullable=False),
        sa.Column("full_cure_minutes", sa.Double(), nullable=False),
        sa.Column("recoat_from_minutes", sa.Double(), nullable=True),
        sa.Column("recoat_until_minutes", sa.Double(), nullable=True),
        sa.Column("coldest_c", sa.Double(), nullable=True),
        sa.Column("doubling_c", sa.Double(), nullable=True),
        sa.ForeignKeyConstraint(
            ["adhesive_id"], ["adhesives.id"], name=op.f("fk_mixes_adhesive_id_adhesives")
        ),
        sa.ForeignKeyConstraint(["root_id"], ["mixes.id"], name=op.f("fk_mixes_root_id_mixes")),
        sa.ForeignKeyConstraint(
            ["superseded_by_id"], ["mixes.id"], name=op.f("fk_mixes_superseded_by_id_mixes")
        ),
        sa.ForeignKeyConstraint(["zone_id"], ["zones.id"], name=op.f("fk_mixes_zone_id_zones")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_mixes")),
    )
    with op.batch_alter_table("mixes", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_mixes_mixed_at"), ["mixed_at"], unique=False)
        batch_op.create_index(batch_op.f("ix_mixes_root_id"), ["root_id"], unique=False)

    op.create_table(
        "readings",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("zone_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("celsius", sa.Double(), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["zone_id"], ["zones.id"], name=op.f("fk_readings_zone_id_zones")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_readings")),
    )
    with op.batch_alter_table("readings", schema=None) as batch_op:
        batch_op.create_index("ix_readings_zone_id_at", ["zone_id", "at"], unique=False)

    op.create_table(
        "sessions",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("user_id", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("expires_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["user_id"], ["users.id"], name=op.f("fk_sessions_user_id_users")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sessions")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_sessions_token_hash")),
    )
    with op.batch_alter_table("sessions", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_sessions_user_id"), ["user_id"], unique=False)

    op.create_table(
        "stages",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("sequence_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("customer_words", sa.String(length=200), nullable=False),
        sa.Column("attended_minutes", sa.Integer(), nullable=False),
        sa.Column("records", sa.JSON(), nullable=False),
        sa.Column("draws", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["sequence_id"], ["sequences.id"], name=op.f("fk_stages_sequence_id_sequences")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stages")),
        sa.UniqueConstraint("sequence_id", "name", name=op.f("uq_stages_sequence_id_name")),
    )
    with op.batch_alter_table("stages", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_stages_sequence_id"), ["sequence_id"], unique=False)

    op.create_table(
        "stations",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("blank_id", sa.Integer(), nullable=False),
        sa.Column("from_butt_nm", sa.BigInteger(), nullable=False),
        sa.Column("od_nm", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["blank_id"], ["blanks.id"], name=op.f("fk_stations_blank_id_blanks")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stations")),
        sa.UniqueConstraint("blank_id", "from_butt_nm", name=op.f("uq_stations_blank_id_from_butt_nm")),
    )
    op.create_table(
        "builds",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.String(length=20), nullable=False),
        sa.Column("year", sa.Integer(), nullable=False),
        sa.Column("running", sa.Integer(), nullable=False),
        sa.Column("customer_id", sa.Integer(), nullable=False),
        sa.Column("title", sa.String(length=120), nullable=False),
        sa.Column("rod_kind", sa.String(length=20), nullable=False),
        sa.Column("sequence_id", sa.Integer(), nullable=False),
        sa.Column("blank_id", sa.Integer(), nullable=True),
        sa.Column("promised_on", sa.Date(), nullable=True),
        sa.Column("thread_colour", sa.String(length=7), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("stage_id", sa.Integer(), nullable=True),
        sa.Column("pass_number", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["blank_id"], ["blanks.id"], name=op.f("fk_builds_blank_id_blanks")),
        sa.ForeignKeyConstraint(
            ["customer_id"], ["customers.id"], name=op.f("fk_builds_customer_id_customers")
        ),
        sa.ForeignKeyConstraint(
            ["sequence_id"], ["sequences.id"], name=op.f("fk_builds_sequence_id_sequences")
        ),
        sa.ForeignKeyConstraint(["stage_id"], ["stages.id"], name=op.f("fk_builds_stage_id_stages")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_builds")),
        sa.UniqueConstraint("number", name=op.f("uq_builds_number")),
        sa.UniqueConstraint("year", "running", name=op.f("uq_builds_year_running")),
    )
    with op.batch_alter_table("builds", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_builds_blank_id"), ["blank_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_builds_customer_id"), ["customer_id"], unique=False)
        batch_op.create_index(
            "ix_builds_open",
            ["promised_on", "number"],
            unique=False,
            sqlite_where=sa.text("closed_at IS NULL"),
            postgresql_where=sa.text("closed_at IS NULL"),
        )
        batch_op.create_index(batch_op.f("ix_builds_sequence_id"), ["sequence_id"], unique=False)

    op.create_table(
        "holds",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("stage_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("needs", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["stage_id"], ["stages.id"], name=op.f("fk_holds_stage_id_stages")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_holds")),
    )
    with op.batch_alter_table("holds", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_holds_stage_id"), ["stage_id"], unique=False)

    op.create_table(
        "puddle_checks",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("mix_id", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(length=10), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.ForeignKeyConstraint(["mix_id"], ["mixes.id"], name=op.f("fk_puddle_checks_mix_id_mixes")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_puddle_checks")),
    )
    with op.batch_alter_table("puddle_checks", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_puddle_checks_mix_id"), ["mix_id"], unique=False)
        batch_op.create_index(
            "ix_puddle_checks_tacky",
            ["mix_id"],
            unique=False,
            sqlite_where=sa.text("state = 'tacky'"),
            postgresql_where=sa.text("state = 'tacky'"),
        )

    op.create_table(
        "suspicions",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("mix_id", sa.Integer(), nullable=False),
        sa.Column("reason", sa.String(length=500), nullable=False),
        sa.Column("raised_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("verdict", sa.String(length=10), nullable=True),
        sa.Column("verdict_reason", sa.String(length=500), nullable=False),
        sa.Column("verdict_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("verdict_by", sa.String(length=80), nullable=False),
        sa.ForeignKeyConstraint(["mix_id"], ["mixes.id"], name=op.f("fk_suspicions_mix_id_mixes")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_suspicions")),
    )
    with op.batch_alter_table("suspicions", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_suspicions_mix_id"), ["mix_id"], unique=False)
        batch_op.create_index(
            "ix_suspicions_open",
            ["mix_id"],
            unique=False,
            sqlite_where=sa.text("verdict IS NULL"),
            postgresql_where=sa.text("verdict IS NULL"),
        )

    op.create_table(
        "cures",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("mix_id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("pass_number", sa.Integer(), nullable=False),
        sa.Column("place", sa.String(length=60), nullable=False),
        sa.Column("zone_id", sa.Integer(), nullable=True),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("corrects_id", sa.Integer(), nullable=True),
        sa.Column("superseded_by_id", sa.Integer(), nullable=True),
        sa.Column("correction_reason", sa.String(length=500), nullable=False),
        sa.Column("failed_reason", sa.String(length=500), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_cures_build_id_builds")),
        sa.ForeignKeyConstraint(["corrects_id"], ["cures.id"], name=op.f("fk_cures_corrects_id_cures")),
        sa.ForeignKeyConstraint(["mix_id"], ["mixes.id"], name=op.f("fk_cures_mix_id_mixes")),
        sa.ForeignKeyConstraint(
            ["superseded_by_id"], ["cures.id"], name=op.f("fk_cures_superseded_by_id_cures")
        ),
        sa.ForeignKeyConstraint(["zone_id"], ["zones.id"], name=op.f("fk_cures_zone_id_zones")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_cures")),
    )
    with op.batch_alter_table("cures", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_cures_build_id"), ["build_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_cures_mix_id"), ["mix_id"], unique=False)

    op.create_table(
        "events",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("pass_number", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("stage_id", sa.Integer(), nullable=True),
        sa.Column("happened_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("user_id", sa.Integer(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("corrects_id", sa.Integer(), nullable=True),
        sa.Column("details", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_events_build_id_builds")),
        sa.ForeignKeyConstraint(["corrects_id"], ["events.id"], name=op.f("fk_events_corrects_id_events")),
        sa.ForeignKeyConstraint(["stage_id"], ["stages.id"], name=op.f("fk_events_stage_id_stages")),
        sa.ForeignKeyConstraint(["user_id"], ["users.id"], name=op.f("fk_events_user_id_users")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_events")),
    )
    with op.batch_alter_table("events", schema=None) as batch_op:
        batch_op.create_index("ix_events_build_id_pass_number", ["build_id", "pass_number"], unique=False)

    op.create_table(
        "status_links",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("nonce", sa.String(length=64), nullable=False),
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_status_links_build_id_builds")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_status_links")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_status_links_token_hash")),
    )
    with op.batch_alter_table("status_links", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_status_links_build_id"), ["build_id"], unique=False)
    guard_events()
    fill_one_row_tables()


def downgrade():
    if op.get_bind().dialect.name == "postgresql":
        op.execute("DROP TRIGGER events_no_change ON events")
        op.execute("DROP FUNCTION refuse_event_change()")
    with op.batch_alter_table("status_links", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_status_links_build_id"))

    op.drop_table("status_links")
    with op.batch_alter_table("events", schema=None) as batch_op:
        batch_op.drop_index("ix_events_build_id_pass_number")

    op.drop_table("events")
    with op.batch_alter_table("cures", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_cures_mix_id"))
        batch_op.drop_index(batch_op.f("ix_cures_build_id"))

    op.drop_table("cures")
    with op.batch_alter_table("suspicions", schema=None) as batch_op:
        batch_op.drop_index(
            "ix_suspicions_open",
            sqlite_where=sa.text("verdict IS NULL"),
            postgresql_where=sa.text("verdict IS NULL"),
        )
        batch_op.drop_index(batch_op.f("ix_suspicions_mix_id"))

    op.drop_table("suspicions")
    with op.batch_alter_table("puddle_checks", schema=None) as batch_op:
        batch_op.drop_index(
            "ix_puddle_checks_tacky",
            sqlite_where=sa.text("state = 'tacky'"),
            postgresql_where=sa.text("state = 'tacky'"),
        )
        batch_op.drop_index(batch_op.f("ix_puddle_checks_mix_id"))

    op.drop_table("puddle_checks")
    with op.batch_alter_table("holds", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_holds_stage_id"))

    op.drop_table("holds")
    with op.batch_alter_table("builds", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_builds_sequence_id"))
        batch_op.drop_index(
            "ix_builds_open",
            sqlite_where=sa.text("closed_at IS NULL"),
            postgresql_where=sa.text("closed_at IS NULL"),
        )
        batch_op.drop_index(batch_op.f("ix_builds_customer_id"))
        batch_op.drop_index(batch_op.f("ix_builds_blank_id"))

    op.drop_table("builds")
    op.drop_table("stations")
    with op.batch_alter_table("stages", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_stages_sequence_id"))

    op.drop_table("stages")
    with op.batch_alter_table("sessions", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_sessions_user_id"))

    op.drop_table("sessions")
    with op.batch_alter_table("readings", schema=None) as batch_op:
        batch_op.drop_index("ix_readings_zone_id_at")

    op.drop_table("readings")
    with op.batch_alter_table("mixes", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_mixes_root_id"))
        batch_op.drop_index(batch_op.f("ix_mixes_mixed_at"))

    op.drop_table("mixes")
    op.drop_table("zones")
    op.drop_table("users")
    with op.batch_alter_table("sign_in_attempts", schema=None) as batch_op:
        batch_op.drop_index("ix_sign_in_attempts_name_key_at")

    op.drop_table("sign_in_attempts")
    op.drop_table("shop")
    op.drop_table("sequences")
    op.drop_table("first_answers")
    with op.batch_alter_table("customers", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_customers_name"))

    op.drop_table("customers")
    with op.batch_alter_table("components", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_components_kind"))

    op.drop_table("components")
    op.drop_table("clock_doubts")
    op.drop_table("change")
    op.drop_table("blanks")
    op.drop_table("api_keys")
    op.drop_table("adhesives")
