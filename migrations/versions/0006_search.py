"""The search index: the words of customers, builds, parts, notes and messages, kept right by triggers.

SQLite has an FTS5 table, PostgreSQL a table with a tsvector. `title` and `body` may be seen by everybody in
the shop, `private` at the desk alone. Triggers see to it that whatever writes, also an erasing, is followed.

Revision ID: 0006
Revises: 0005
"""

from alembic import op

revision = "0006"
down_revision = "0005"

DIGITS = "replace(replace(replace(replace(replace({r}.phone, ' ', ''), '-', ''), '(', ''), ')', ''), '.', '')"
# Kind, table, the columns watched, title, body, private, and which rows; `{r}` stands for the row.
# The place in this list is the last digit of the row's number in SQLite's index.
SOURCES = (
    ("build", "builds", "number, title, notes", "{r}.number || ' ' || {r}.title", "{r}.notes", "''", "true"),
    (
        "customer", "customers", "name, email, phone, notes", "{r}.name", "''",
        "{r}.email || ' ' || {r}.phone || ' ' || " + DIGITS + " || ' ' || {r}.notes", "true",
    ),
    (
        "component", "components", "name, kind, material, notes", "{r}.name",
        "{r}.kind || ' ' || {r}.material || ' ' || {r}.notes", "''", "true",
    ),
    (
        "blank", "blanks", "maker, model, notes", "trim({r}.maker || ' ' || {r}.model)", "{r}.notes", "''",
        "true",
    ),
    ("note", "events", "note", "''", "{r}.note", "''", "{r}.note <> ''"),
    ("message", "messages", "text", "''", "''", "{r}.text", "true"),
)  # fmt: skip
SQLITE_TABLE = """
CREATE VIRTUAL TABLE search_words USING fts5(
    kind, title, body, private, tokenize = "unicode61 remove_diacritics 2", prefix = '1 2 3'
)
"""
SQLITE_WRITE = """
INSERT INTO search_words (rowid, kind, title, body, private)
SELECT {r}.id * 10 + {digit}, '{kind}', {title}, {body}, {private} {rows} WHERE {which}
"""
SQLITE_TRIGGERS = (
    "CREATE TRIGGER search_{table}_insert AFTER INSERT ON {table} BEGIN {write}; END",
    """
    CREATE TRIGGER search_{table}_update AFTER UPDATE OF {watched} ON {table} BEGIN
    DELETE FROM search_words WHERE rowid = OLD.id * 10 + {digit}; {write}; END
    """,
    """
    CREATE TRIGGER search_{table}_delete AFTER DELETE ON {table} BEGIN
    DELETE FROM search_words WHERE rowid = OLD.id * 10 + {digit}; END
    """,
)
# PostgreSQL would take an address of mail for one word; signs part words here, as they do in SQLite's index.
PARTED = "regexp_replace({column}, '[!-/:-@\\[-`{{-~]+', ' ', 'g')"
POSTGRESQL_TABLE = """
CREATE TABLE search_words (
    kind varchar(10) NOT NULL, record_id integer NOT NULL,
    title text NOT NULL, body text NOT NULL, private text NOT NULL,
    words tsvector GENERATED ALWAYS AS (
        setweight(to_tsvector('simple', {title}), 'A') || setweight(to_tsvector('simple', {body}), 'B')
        || setweight(to_tsvector('simple', {private}), 'C')
    ) STORED,
    CONSTRAINT pk_search_words PRIMARY KEY (kind, record_id)
)
"""
POSTGRESQL_WRITE = """
INSERT INTO search_words (kind, record_id, title, body, private)
SELECT '{kind}', {r}.id, {title}, {body}, {private} {rows} WHERE {which}
"""
POSTGRESQL_FUNCTION = """
CREATE FUNCTION search_{table}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN
IF TG_OP <> 'INSERT' THEN DELETE FROM search_words WHERE kind = '{kind}' AND record_id = OLD.id; END IF;
IF TG_OP <> 'DELETE' THEN {write}; END IF;
RETURN NULL; END $$
"""
POSTGRESQL_TRIGGER = """
CREATE TRIGGER search_{table} AFTER INSERT OR DELETE OR UPDATE OF {watched} ON {table}
FOR EACH ROW EXECUTE FUNCTION search_{table}()
"""


def writing(template, source, row, rows):
    """The statement that writes the words of one row, or of all `rows`, of a source."""
    kind, _table, _watched, *expressions = source
    title, body, private, which = (expression.format(r=row) for expression in expressions)
    digit = SOURCES.index(source)
    return template.format(
        r=row, rows=rows, kind=kind, digit=digit, title=title, body=body, private=private, which=which
    ).strip()


def upgrade():
    on_postgresql = op.get_bind().dialect.name == "postgresql"
    if on_postgresql:
        parts = {column: PARTED.format(column=column) for column in ("title", "body", "private")}
        op.execute(POSTGRESQL_TABLE.format(**parts))
        op.execute("CREATE INDEX ix_search_words_words ON search_words USING gin (words)")
    else:
        op.execute(SQLITE_TABLE)
    for digit, source in enumerate(SOURCES):
        kind, table, watched = source[:3]
        template = POSTGRESQL_WRITE if on_postgresql else SQLITE_WRITE
        names = {"kind": kind, "table": table, "watched": watched, "digit": digit}
        write = writing(template, source, "NEW", "")
        if on_postgresql:
            op.execute(POSTGRESQL_FUNCTION.format(write=write, **names))
            op.execute(POSTGRESQL_TRIGGER.format(**names))
        else:
            for trigger in SQLITE_TRIGGERS:
                op.execute(trigger.format(write=write, **names))
        op.execute(writing(template, source, table, f"FROM {table}"))


def downgrade():
    on_postgresql = op.get_bind().dialect.name == "postgresql"
    for _kind, table, *_rest in SOURCES:
        if on_postgresql:
            op.execute(f"DROP TRIGGER search_{table} ON {table}")
            op.execute(f"DROP FUNCTION search_{table}()")
        else:
            for verb in ("insert", "update", "delete"):
                op.execute(f"DROP TRIGGER search_{table}_{verb}")
    op.execute("DROP TABLE search_words")
