"""Events are only added: the database itself refuses to change or remove one."""

from __future__ import annotations

from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

MESSAGE = "events are only added"


def upgrade() -> None:
    if op.get_bind().dialect.name == "postgresql":
        op.execute(
            "CREATE FUNCTION events_only_added() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{MESSAGE}'; END $$"
        )
        op.execute(
            "CREATE TRIGGER events_only_added BEFORE UPDATE OR DELETE OR TRUNCATE ON events "
            "FOR EACH STATEMENT EXECUTE FUNCTION events_only_added()"
        )
        return
    for change in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER events_no_{change.lower()} BEFORE {change} ON events "
            f"BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END"
        )
