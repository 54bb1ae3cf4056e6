"""Make-ups of rods; what a blank bears, what parts weigh, which figures a stage shows.

Revision ID: 0002
Revises: 0001
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

# Table, column, type, and what the rows that are there already get (none: they may stay without).
ADDED = (
    ("blanks", "joints", sa.JSON, "[]"),
    ("blanks", "wall_butt_nm", sa.BigInteger, None),
    ("blanks", "wall_tip_nm", sa.BigInteger, None),
    ("blanks", "test_load_mg", sa.Integer, None),
    ("blanks", "test_sag_nm", sa.BigInteger, None),
    ("blanks", "most_load_mg", sa.Integer, None),
    ("components", "mass_mg", sa.Integer, None),
    ("components", "material", sa.String(length=40), ""),
    ("components", "feet", sa.Integer, None),
    ("stages", "figures", sa.JSON, "[]"),
    ("shop", "spine_rules", sa.JSON, "{}"),
)
# The stages of the ready-made sequences, by the names they came with; a shop's own it fills in itself.
FIGURES = {
    "blank checked": ["blank"],
    "spine marked": ["spine"],
    "spine marked on every section": ["spine"],
    "grips fitted": ["handle", "grips", "seat", "sliding"],
    "grip and seat fitted": ["handle", "grips", "seat", "sliding"],
    "rear grip glued": ["glue", "sliding"],
    "grip glued": ["glue", "sliding"],
    "arbor glued": ["seat", "glue"],
    "reel seat glued": ["spine", "seat", "glue"],
    "reel seat and fore grip glued": ["spine", "seat", "glue", "sliding"],
    "guides laid out": ["spine", "guides", "static test"],
    "underwrapped": ["guides", "wraps"],
    "wrapped": ["guides", "wraps"],
    "wrapped again": ["guides", "wraps"],
    "rollers wrapped": ["guides", "wraps"],
    "ferrules and guides wrapped": ["guides", "wraps"],
    "underwrap coated": ["finish"],
    "first finish coat": ["finish"],
    "second finish coat": ["finish"],
    "butt cap fitted": ["handle", "glue"],
    "fighting butt fitted": ["handle", "glue"],
    "gimbal fitted": ["spine", "handle", "glue"],
    "inspected": ["balance"],
}


def upgrade():
    op.create_table(
        "make_ups",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("blank_id", sa.Integer(), nullable=True),
        sa.Column("document", sa.JSON(), nullable=False),
        sa.Column("meant", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["blank_id"], ["blanks.id"], name=op.f("fk_make_ups_blank_id_blanks")),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_make_ups_build_id_builds")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_make_ups")),
        sa.UniqueConstraint("build_id", "revision", name=op.f("uq_make_ups_build_id_revision")),
    )
    for table, name, kind, given in ADDED:
        # A plain ADD COLUMN with a default: making the table anew would break what refers to it.
        op.add_column(table, sa.Column(name, kind, nullable=given is None, server_default=given))
    stages = sa.table("stages", sa.column("name", sa.String()), sa.column("figures", sa.JSON()))
    for name, figures in FIGURES.items():
        op.execute(stages.update().where(stages.c.name == name).values(figures=figures))


def downgrade():
    for table, name, _kind, _given in reversed(ADDED):
        op.drop_column(table, name)
    op.drop_table("make_ups")
