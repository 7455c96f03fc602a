"""The tables that events are kept in.

One table: events are added and never changed, and everything else is folded from them. Times are kept as ISO
8601 texts in UTC and data as JSON texts, so that SQLite and PostgreSQL hold the same and both sort it alike.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import BigInteger, Column, Connection, Index, Integer, MetaData, String, Table, Text, text

HEAD = "0002"
"""The newest revision of the schema, in ``migrations/versions``."""

metadata = MetaData()

events = Table(
    "events",
    metadata,
    Column("seq", BigInteger().with_variant(Integer, "sqlite"), primary_key=True, autoincrement=True),
    Column("id", String(200), nullable=False, unique=True),
    Column("stream", String(250), nullable=False),
    Column("kind", String(40), nullable=False),
    Column("at", String(40), nullable=False),
    Column("received", String(40), nullable=False),
    Column("by", String(200), nullable=False),
    Column("version", Integer, nullable=False),
    Column("data", Text, nullable=False),
    Index("events_stream", "stream", "seq"),
    sqlite_autoincrement=True,
)


@contextmanager
def unprotected(connection: Connection) -> Iterator[None]:
    """Lift, within a transaction, the rule that events are only added; it is put back before the commit."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("ALTER TABLE events DISABLE TRIGGER USER"))
        yield
        connection.execute(text("ALTER TABLE events ENABLE TRIGGER USER"))
        return
    query = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'events'"
    triggers = connection.execute(text(query)).all()
    for name, _ in triggers:
        connection.exec_driver_sql(f'DROP TRIGGER "{name}"')
    yield
    for _, definition in triggers:
        connection.exec_driver_sql(definition)
