"""The first store."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make all tables of the first store."""
    op.create_table(
        "account",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=60), nullable=False),
        sa.Column("role", sa.String(length=20), nullable=False),
        sa.Column("keeps_accounts", sa.Boolean(), nullable=False),
        sa.Column("closed", sa.Boolean(), nullable=False),
        sa.Column("password", sa.Text(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("name"),
    )
    op.create_table(
        "failed_try",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=60), nullable=False),
        sa.Column("address", sa.String(length=60), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("failed_try", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_failed_try_address"), ["address"], unique=False)
        batch_op.create_index(batch_op.f("ix_failed_try_name"), ["name"], unique=False)

    op.create_table(
        "note",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("text", sa.Text(), nullable=True),
        sa.Column("utterances", sa.JSON(), nullable=False),
        sa.Column("state", sa.String(length=20), nullable=False),
        sa.Column("trouble", sa.Text(), nullable=False),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.Column("by_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["by_id"],
            ["account.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("key"),
    )
    with op.batch_alter_table("note", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_note_by_id"), ["by_id"], unique=False)

    op.create_table(
        "signed_in",
        sa.Column("token", sa.String(length=64), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("form_key", sa.String(length=64), nullable=False),
        sa.Column("since", sa.DateTime(timezone=True), nullable=False),
        sa.Column("last_seen", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["account_id"],
            ["account.id"],
        ),
        sa.PrimaryKeyConstraint("token"),
    )
    with op.batch_alter_table("signed_in", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_signed_in_account_id"), ["account_id"], unique=False)

    op.create_table(
        "taught",
        sa.Column("words", sa.String(length=120), nullable=False),
        sa.Column("component", sa.String(length=80), nullable=False),
        sa.Column("taken", sa.Boolean(), nullable=False),
        sa.Column("by_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["by_id"],
            ["account.id"],
        ),
        sa.PrimaryKeyConstraint("words", "component"),
    )
    op.create_table(
        "repair_order",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("note_id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("draft", sa.JSON(), nullable=False),
        sa.Column("document", sa.JSON(), nullable=False),
        sa.Column("head", sa.JSON(), nullable=False),
        sa.Column("lexicon", sa.String(length=64), nullable=False),
        sa.Column("frozen", sa.Boolean(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["note_id"],
            ["note.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("note_id"),
    )
    op.create_table(
        "sound",
        sa.Column("note_id", sa.Integer(), nullable=False),
        sa.Column("media_type", sa.String(length=60), nullable=False),
        sa.Column("suffix", sa.String(length=10), nullable=False),
        sa.Column("data", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(
            ["note_id"],
            ["note.id"],
        ),
        sa.PrimaryKeyConstraint("note_id"),
    )
    op.create_table(
        "change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("order_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("token", sa.String(length=64), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("wrote", sa.JSON(), nullable=False),
        sa.Column("patch", sa.JSON(), nullable=False),
        sa.Column("undoes", sa.Integer(), nullable=True),
        sa.Column("by_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["by_id"],
            ["account.id"],
        ),
        sa.ForeignKeyConstraint(
            ["order_id"],
            ["repair_order.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("order_id", "number"),
        sa.UniqueConstraint("order_id", "token"),
    )
    op.create_table(
        "mended_word",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("order_id", sa.Integer(), nullable=False),
        sa.Column("words", sa.String(length=120), nullable=False),
        sa.Column("component", sa.String(length=80), nullable=False),
        sa.Column("by_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["by_id"],
            ["account.id"],
        ),
        sa.ForeignKeyConstraint(
            ["order_id"],
            ["repair_order.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("mended_word", schema=None) as batch_op:
        batch_op.create_index("ix_mended_word_words", ["words", "component"], unique=False)

    op.create_table(
        "revision",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("order_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("document", sa.JSON(), nullable=False),
        sa.Column("by_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["by_id"],
            ["account.id"],
        ),
        sa.ForeignKeyConstraint(
            ["order_id"],
            ["repair_order.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("order_id", "number"),
    )
    for table in ("change", "revision"):
        _keep_as_written(table)


def _keep_as_written(table: str) -> None:
    """Refuse to alter or delete a row: what was changed and signed stays as it was written."""
    said = f"{table} is append-only"
    if op.get_bind().dialect.name == "sqlite":
        for what in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{what.lower()} BEFORE {what} ON {table} BEGIN SELECT RAISE(ABORT, '{said}'); END"
            )
        return
    op.execute(
        f"CREATE FUNCTION {table}_stays() RETURNS trigger AS $$ BEGIN RAISE EXCEPTION '{said}'; END $$ LANGUAGE plpgsql"
    )
    op.execute(
        f"CREATE TRIGGER {table}_stays BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW EXECUTE FUNCTION {table}_stays()"
    )
