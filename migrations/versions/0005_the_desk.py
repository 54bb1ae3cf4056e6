"""The desk: specs, quotes, payments, stock, photos, promises, messages, mail, repairs and returns.

Revision ID: 0005
Revises: 0004
"""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"

# Rows of these are written down and never changed.
APPENDED = ("payments", "promises", "stock_moves")
SQLITE_GUARD = """
CREATE TRIGGER {table}_no_{verb} BEFORE {verb} ON {table}
BEGIN SELECT RAISE(ABORT, '{table} are never changed or deleted'); END
"""
# INSERT OR REPLACE deletes the row in its way without asking the trigger on DELETE.
SQLITE_GUARD_OF_REPLACING = """
CREATE TRIGGER {table}_no_replacing BEFORE INSERT ON {table}
WHEN EXISTS (SELECT 1 FROM {table} WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, '{table} are never changed or deleted'); END
"""
POSTGRESQL_FUNCTION = """
CREATE FUNCTION refuse_{table}_change() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION '{table} are never changed or deleted'; END $$
"""
POSTGRESQL_GUARD = """
CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE OR TRUNCATE ON {table}
FOR EACH STATEMENT EXECUTE FUNCTION refuse_{table}_change()
"""
# Table, column, type, and what the rows that are there already get (none: they may stay without).
ADDED = (
    ("builds", "is_enquiry", sa.Boolean(), sa.false()),
    ("builds", "change_by", sa.Date(), None),
    ("builds", "warranty_until", sa.Date(), None),
    ("builds", "closed_as", sa.String(length=10), ""),
    ("customers", "wants_mail", sa.Boolean(), sa.true()),
    ("customers", "photo_consent_on", sa.Date(), None),
    ("customers", "erased_at", sa.DateTime(timezone=True), None),
    ("shop", "quote_terms", sa.JSON(), "{}"),
    ("shop", "terms", sa.Text(), ""),
    ("shop", "care_sheet", sa.Text(), ""),
    ("shop", "warranty_months", sa.Integer(), "12"),
    ("shop", "unclaimed_days", sa.Integer(), "60"),
    ("stages", "uses", sa.JSON(), "[]"),
    ("stages", "tells_customer", sa.Boolean(), sa.false()),
)
MAIL_IS_OFF = """
INSERT INTO mail_settings (id, is_on, host, port, security, user_name, from_address, from_name, version)
VALUES (1, FALSE, '', 587, 'starttls', '', '', '', 1)
"""
EXAMPLE_RULE = """
INSERT INTO tax_rules
    (name, percent, valid_from, valid_until, cap_cents, taxed_on, is_on, note, created_at, version)
VALUES (
    'Example: US excise on fishing rods', '10', '2005-10-01', NULL, 1000, 'price', FALSE,
    '26 USC 4161(a)(1): 10 % of the price the maker sells for, at most $10 a rod. What that price is, and '
    || 'whether a rod is taxed at all, differs: ask an accountant before you switch it on.',
    '2005-10-01 00:00:00.000000', 1
)
"""
# The days that were promised so far, by nobody and for no reason that anybody knows.
FIRST_PROMISES = """
INSERT INTO promises (build_id, promised_on, was_on, reason, at, "by")
SELECT id, promised_on, NULL, '', created_at, '' FROM builds WHERE promised_on IS NOT NULL
"""
MADE = (
    "mail_settings", "mail_templates", "suppliers", "tax_rules", "deliveries", "stocks", "build_parts",
    "intakes", "mails", "messages", "payments", "photos", "promises", "quotes", "returns", "specs",
    "stock_moves", "quote_answers",
)  # fmt: skip


def guard(table):
    """Make the database refuse an update or a delete of a row of a table."""
    if op.get_bind().dialect.name == "postgresql":
        op.execute(POSTGRESQL_FUNCTION.format(table=table))
        op.execute(POSTGRESQL_GUARD.format(table=table))
    else:
        for verb in ("UPDATE", "DELETE"):
            op.execute(SQLITE_GUARD.format(table=table, verb=verb))
        op.execute(SQLITE_GUARD_OF_REPLACING.format(table=table))


def upgrade():
    op.create_table(
        "mail_settings",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("is_on", sa.Boolean(), nullable=False),
        sa.Column("host", sa.String(length=253), nullable=False),
        sa.Column("port", sa.Integer(), nullable=False),
        sa.Column("security", sa.String(length=10), nullable=False),
        sa.Column("user_name", sa.String(length=254), nullable=False),
        sa.Column("from_address", sa.String(length=254), nullable=False),
        sa.Column("from_name", sa.String(length=120), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_mail_settings_one_row")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_mail_settings")),
    )
    op.create_table(
        "mail_templates",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("is_on", sa.Boolean(), nullable=False),
        sa.Column("subject", sa.String(length=200), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("html", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_mail_templates")),
        sa.UniqueConstraint("kind", name=op.f("uq_mail_templates_kind")),
    )
    op.create_table(
        "suppliers",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("email", sa.String(length=254), nullable=False),
        sa.Column("phone", sa.String(length=40), nullable=False),
        sa.Column("lead_days", sa.Integer(), nullable=True),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_suppliers")),
    )
    op.create_index(op.f("ix_suppliers_name"), "suppliers", ["name"], unique=False)

    op.create_table(
        "tax_rules",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("percent", sa.String(length=12), nullable=False),
        sa.Column("valid_from", sa.Date(), nullable=False),
        sa.Column("valid_until", sa.Date(), nullable=True),
        sa.Column("cap_cents", sa.Integer(), nullable=True),
        sa.Column("taxed_on", sa.String(length=30), nullable=False),
        sa.Column("is_on", sa.Boolean(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tax_rules")),
    )
    op.create_table(
        "deliveries",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("supplier_id", sa.Integer(), nullable=True),
        sa.Column("reference", sa.String(length=60), nullable=False),
        sa.Column("received_on", sa.Date(), nullable=False),
        sa.Column("inspect_by", sa.Date(), nullable=True),
        sa.Column("return_by", sa.Date(), nullable=True),
        sa.Column("inspected_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("inspected_by", sa.String(length=80), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["supplier_id"], ["suppliers.id"], name=op.f("fk_deliveries_supplier_id_suppliers")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_deliveries")),
    )
    op.create_index(op.f("ix_deliveries_supplier_id"), "deliveries", ["supplier_id"], unique=False)

    op.create_table(
        "stocks",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("blank_id", sa.Integer(), nullable=True),
        sa.Column("component_id", sa.Integer(), nullable=True),
        sa.Column("adhesive_id", sa.Integer(), nullable=True),
        sa.Column("supplier_id", sa.Integer(), nullable=True),
        sa.Column("supplier_code", sa.String(length=60), nullable=False),
        sa.Column("code", sa.String(length=60), nullable=False),
        sa.Column("unit", sa.String(length=20), nullable=False),
        sa.Column("bin", sa.String(length=60), nullable=False),
        sa.Column("least", sa.Integer(), nullable=False),
        sa.Column("lead_days", sa.Integer(), nullable=True),
        sa.Column("on_shelf", sa.Integer(), nullable=False),
        sa.Column("set_aside", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "CASE WHEN blank_id IS NULL THEN 0 ELSE 1 END + CASE WHEN component_id IS NULL THEN 0 ELSE 1 END"
            " + CASE WHEN adhesive_id IS NULL THEN 0 ELSE 1 END = 1",
            name=op.f("ck_stocks_one_item"),
        ),
        sa.ForeignKeyConstraint(
            ["adhesive_id"], ["adhesives.id"], name=op.f("fk_stocks_adhesive_id_adhesives")
        ),
        sa.ForeignKeyConstraint(["blank_id"], ["blanks.id"], name=op.f("fk_stocks_blank_id_blanks")),
        sa.ForeignKeyConstraint(
            ["component_id"], ["components.id"], name=op.f("fk_stocks_component_id_components")
        ),
        sa.ForeignKeyConstraint(
            ["supplier_id"], ["suppliers.id"], name=op.f("fk_stocks_supplier_id_suppliers")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stocks")),
        sa.UniqueConstraint("adhesive_id", name=op.f("uq_stocks_adhesive_id")),
        sa.UniqueConstraint("blank_id", name=op.f("uq_stocks_blank_id")),
        sa.UniqueConstraint("code", name=op.f("uq_stocks_code")),
        sa.UniqueConstraint("component_id", name=op.f("uq_stocks_component_id")),
    )
    op.create_index(op.f("ix_stocks_supplier_id"), "stocks", ["supplier_id"], unique=False)

    op.create_table(
        "build_parts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("part_group", sa.String(length=20), nullable=False),
        sa.Column("blank_id", sa.Integer(), nullable=True),
        sa.Column("component_id", sa.Integer(), nullable=True),
        sa.Column("needed", sa.Integer(), nullable=False),
        sa.Column("set_aside", sa.Integer(), nullable=False),
        sa.Column("used", sa.Integer(), nullable=False),
        sa.Column("confirmed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("confirmed_by", sa.String(length=80), nullable=False),
        sa.ForeignKeyConstraint(["blank_id"], ["blanks.id"], name=op.f("fk_build_parts_blank_id_blanks")),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_build_parts_build_id_builds")),
        sa.ForeignKeyConstraint(
            ["component_id"], ["components.id"], name=op.f("fk_build_parts_component_id_components")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_build_parts")),
    )
    op.create_index(op.f("ix_build_parts_build_id"), "build_parts", ["build_id"], unique=False)
    op.create_index(op.f("ix_build_parts_component_id"), "build_parts", ["component_id"], unique=False)

    op.create_table(
        "intakes",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("brought_on", sa.Date(), nullable=False),
        sa.Column("rod", sa.String(length=200), nullable=False),
        sa.Column("wish", sa.Text(), nullable=False),
        sa.Column("conditions", sa.JSON(), nullable=False),
        sa.Column("signed_name", sa.String(length=120), nullable=False),
        sa.Column("signed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_intakes_build_id_builds")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_intakes")),
        sa.UniqueConstraint("build_id", name=op.f("uq_intakes_build_id")),
    )
    op.create_table(
        "mails",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=80), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=True),
        sa.Column("customer_id", sa.Integer(), nullable=True),
        sa.Column("to_address", sa.String(length=254), nullable=False),
        sa.Column("subject", sa.String(length=200), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("html", sa.Text(), nullable=False),
        sa.Column("message_id", sa.String(length=200), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("next_try_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("claimed_until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("sent_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("given_up_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("last_error", sa.String(length=500), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_mails_build_id_builds")),
        sa.ForeignKeyConstraint(
            ["customer_id"], ["customers.id"], name=op.f("fk_mails_customer_id_customers")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_mails")),
        sa.UniqueConstraint("key", name=op.f("uq_mails_key")),
    )
    op.create_index(op.f("ix_mails_build_id"), "mails", ["build_id"], unique=False)
    op.create_index(op.f("ix_mails_customer_id"), "mails", ["customer_id"], unique=False)
    op.create_index(
        "ix_mails_waiting",
        "mails",
        ["next_try_at"],
        unique=False,
        sqlite_where=sa.text("sent_at IS NULL AND given_up_at IS NULL"),
        postgresql_where=sa.text("sent_at IS NULL AND given_up_at IS NULL"),
    )
    op.create_index(
        "ix_mails_given_up",
        "mails",
        ["given_up_at"],
        unique=False,
        sqlite_where=sa.text("given_up_at IS NOT NULL"),
        postgresql_where=sa.text("given_up_at IS NOT NULL"),
    )

    op.create_table(
        "messages",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("from_customer", sa.Boolean(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("read_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("read_by", sa.String(length=80), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_messages_build_id_builds")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_messages")),
    )
    op.create_index("ix_messages_build_id", "messages", ["build_id"], unique=False)
    op.create_index(
        "ix_messages_unread",
        "messages",
        ["at"],
        unique=False,
        sqlite_where=sa.text("read_at IS NULL"),
        postgresql_where=sa.text("read_at IS NULL"),
    )

    op.create_table(
        "payments",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=10), nullable=False),
        sa.Column("cents", sa.Integer(), nullable=False),
        sa.Column("currency", sa.String(length=3), nullable=False),
        sa.Column("method", sa.String(length=40), nullable=False),
        sa.Column("paid_on", sa.Date(), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("corrects_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_payments_build_id_builds")),
        sa.ForeignKeyConstraint(
            ["corrects_id"], ["payments.id"], name=op.f("fk_payments_corrects_id_payments")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_payments")),
    )
    op.create_index(op.f("ix_payments_build_id"), "payments", ["build_id"], unique=False)
    op.create_index(op.f("ix_payments_paid_on"), "payments", ["paid_on"], unique=False)

    op.create_table(
        "photos",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("stage_id", sa.Integer(), nullable=True),
        sa.Column("name", sa.String(length=40), nullable=False),
        sa.Column("side", sa.String(length=20), nullable=False),
        sa.Column("caption", sa.String(length=200), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("shared_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("shared_by", sa.String(length=80), nullable=False),
        sa.Column("removed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("removed_by", sa.String(length=80), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_photos_build_id_builds")),
        sa.ForeignKeyConstraint(["stage_id"], ["stages.id"], name=op.f("fk_photos_stage_id_stages")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_photos")),
        sa.UniqueConstraint("name", name=op.f("uq_photos_name")),
    )
    op.create_index("ix_photos_build_id", "photos", ["build_id"], unique=False)

    op.create_table(
        "promises",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("promised_on", sa.Date(), nullable=True),
        sa.Column("was_on", sa.Date(), nullable=True),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_promises_build_id_builds")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_promises")),
    )
    op.create_index(op.f("ix_promises_build_id"), "promises", ["build_id"], unique=False)

    op.create_table(
        "quotes",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("spec_revision", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("currency", sa.String(length=3), nullable=False),
        sa.Column("price_cents", sa.Integer(), nullable=False),
        sa.Column("total_cents", sa.Integer(), nullable=False),
        sa.Column("deposit_cents", sa.Integer(), nullable=False),
        sa.Column("valid_until", sa.Date(), nullable=True),
        sa.Column("document", sa.JSON(), nullable=False),
        sa.Column("nonce", sa.String(length=64), nullable=False),
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("sent_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("withdrawn_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_quotes_build_id_builds")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_quotes")),
        sa.UniqueConstraint("build_id", "number", name=op.f("uq_quotes_build_id_number")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_quotes_token_hash")),
    )
    op.create_table(
        "returns",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("repair_id", sa.Integer(), nullable=True),
        sa.Column("returned_on", sa.Date(), nullable=False),
        sa.Column("cause", sa.String(length=40), nullable=False),
        sa.Column("stage_name", sa.String(length=80), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=True),
        sa.Column("person", sa.String(length=80), nullable=False),
        sa.Column("under_warranty", sa.Boolean(), nullable=False),
        sa.Column("cost_cents", sa.Integer(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_returns_build_id_builds")),
        sa.ForeignKeyConstraint(["lot_id"], ["lots.id"], name=op.f("fk_returns_lot_id_lots")),
        sa.ForeignKeyConstraint(["repair_id"], ["builds.id"], name=op.f("fk_returns_repair_id_builds")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_returns")),
    )
    op.create_index(op.f("ix_returns_build_id"), "returns", ["build_id"], unique=False)
    op.create_index(op.f("ix_returns_lot_id"), "returns", ["lot_id"], unique=False)
    op.create_index(op.f("ix_returns_repair_id"), "returns", ["repair_id"], unique=False)
    op.create_index(op.f("ix_returns_returned_on"), "returns", ["returned_on"], unique=False)

    op.create_table(
        "specs",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("asked_by", sa.String(length=20), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("rework", sa.JSON(), nullable=False),
        sa.Column("document", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_specs_build_id_builds")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_specs")),
        sa.UniqueConstraint("build_id", "revision", name=op.f("uq_specs_build_id_revision")),
    )
    op.create_table(
        "stock_moves",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("stock_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=True),
        sa.Column("delivery_id", sa.Integer(), nullable=True),
        sa.Column("unit_cost_cents", sa.Integer(), nullable=True),
        sa.Column("currency", sa.String(length=3), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_stock_moves_build_id_builds")),
        sa.ForeignKeyConstraint(
            ["delivery_id"], ["deliveries.id"], name=op.f("fk_stock_moves_delivery_id_deliveries")
        ),
        sa.ForeignKeyConstraint(["stock_id"], ["stocks.id"], name=op.f("fk_stock_moves_stock_id_stocks")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stock_moves")),
    )
    op.create_index(op.f("ix_stock_moves_build_id"), "stock_moves", ["build_id"], unique=False)
    op.create_index(op.f("ix_stock_moves_delivery_id"), "stock_moves", ["delivery_id"], unique=False)
    op.create_index(op.f("ix_stock_moves_stock_id"), "stock_moves", ["stock_id"], unique=False)

    op.create_table(
        "quote_answers",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("quote_id", sa.Integer(), nullable=False),
        sa.Column("answer", sa.String(length=3), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("said_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entered_by", sa.String(length=80), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["quote_id"], ["quotes.id"], name=op.f("fk_quote_answers_quote_id_quotes")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_quote_answers")),
    )
    op.create_index(op.f("ix_quote_answers_quote_id"), "quote_answers", ["quote_id"], unique=False)

    for table, name, kind, given in ADDED:
        # A plain ADD COLUMN with a default: making the table anew would break what refers to it.
        op.add_column(table, sa.Column(name, kind, nullable=given is None, server_default=given))
    # The reference stands in the column itself, the one place where SQLite takes a further one.
    named = sa.ForeignKey("builds.id", name=op.f("fk_builds_copied_from_id_builds"))
    op.add_column("builds", sa.Column("copied_from_id", sa.Integer(), named), inline_references=True)
    for filling in (MAIL_IS_OFF, EXAMPLE_RULE, FIRST_PROMISES):
        op.execute(filling)
    for table in APPENDED:
        guard(table)


def downgrade():
    with op.batch_alter_table("builds") as batch:
        batch.drop_column("copied_from_id")
    for table, name, _kind, _given in reversed(ADDED):
        op.drop_column(table, name)
    for table in reversed(MADE):
        op.drop_table(table)
    if op.get_bind().dialect.name == "postgresql":
        for table in APPENDED:
            op.execute(f"DROP FUNCTION refuse_{table}_change()")
