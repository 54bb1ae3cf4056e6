"""What was changed of adhesives' sheets, by whom, and what the copied figures of a mix stood on.

Revision ID: 0004
Revises: 0003
"""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"

REFUSED = "changes of sheets are never changed or deleted"
SQLITE_GUARD = f"""
CREATE TRIGGER sheet_changes_no_{{verb}} BEFORE {{verb}} ON sheet_changes
BEGIN SELECT RAISE(ABORT, '{REFUSED}'); END
"""
# INSERT OR REPLACE deletes the row in its way without asking the trigger on DELETE.
SQLITE_GUARD_OF_REPLACING = f"""
CREATE TRIGGER sheet_changes_no_replacing BEFORE INSERT ON sheet_changes
WHEN EXISTS (SELECT 1 FROM sheet_changes WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, '{REFUSED}'); END
"""
POSTGRESQL_FUNCTION = f"""
CREATE FUNCTION refuse_sheet_change() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION '{REFUSED}'; END $$
"""
POSTGRESQL_GUARD = """
CREATE TRIGGER sheet_changes_no_change BEFORE UPDATE OR DELETE OR TRUNCATE ON sheet_changes
FOR EACH STATEMENT EXECUTE FUNCTION refuse_sheet_change()
"""
# Figures typed in from a sheet that was named, with its date, have been stood by since then.
CONFIRM_TYPED = """
UPDATE adhesives SET confirmed_at = created_at
WHERE ready_made = '' AND trim(source) <> '' AND sheet_date IS NOT NULL
"""
# Of mixes on file nobody knows what the figures stood on then; what they stand on now comes nearest.
STATE_OF_MIXES = """
UPDATE mixes SET sheet_state = (
    SELECT CASE
        WHEN ready_made <> '' AND confirmed_at IS NULL THEN 'ready-made'
        WHEN trim(source) = '' THEN 'not named'
        WHEN sheet_date IS NULL THEN 'not dated'
        ELSE 'confirmed'
    END
    FROM adhesives WHERE adhesives.id = mixes.adhesive_id
)
"""

# A window without length, which is refused by now, stays on file as the shortest that there can be.
LENGTHEN_WINDOWS = """
UPDATE {table} SET recoat_until_minutes = recoat_from_minutes + 0.01
WHERE recoat_until_minutes = recoat_from_minutes
"""


def guard_changes():
    """Make the database refuse an update or a delete of a change of a sheet."""
    if op.get_bind().dialect.name == "postgresql":
        op.execute(POSTGRESQL_FUNCTION)
        op.execute(POSTGRESQL_GUARD)
    else:
        for verb in ("UPDATE", "DELETE"):
            op.execute(SQLITE_GUARD.format(verb=verb))
        op.execute(SQLITE_GUARD_OF_REPLACING)


def upgrade():
    op.create_table(
        "sheet_changes",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("adhesive_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=10), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("changes", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["adhesive_id"], ["adhesives.id"], name=op.f("fk_sheet_changes_adhesive_id_adhesives")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sheet_changes")),
    )
    op.create_index(op.f("ix_sheet_changes_adhesive_id"), "sheet_changes", ["adhesive_id"], unique=False)
    guard_changes()
    for table in ("adhesives", "mixes"):
        op.execute(LENGTHEN_WINDOWS.format(table=table))
    op.execute(CONFIRM_TYPED)
    state = sa.Column("sheet_state", sa.String(length=20), nullable=False, server_default="confirmed")
    op.add_column("mixes", state)
    op.execute(STATE_OF_MIXES)


def downgrade():
    op.drop_column("mixes", "sheet_state")
    op.drop_table("sheet_changes")
    if op.get_bind().dialect.name == "postgresql":
        op.execute("DROP FUNCTION refuse_sheet_change()")
