"""The database's own guard against double booking, beside the lock that the booking action takes.

PostgreSQL has an exclusion constraint; ranges of one key stand for equality, so no extension is needed. SQLite has two
triggers; altering the table drops them, so they are made after every migration and a system check looks for them.
"""

from collections.abc import Sequence
from typing import Any

from django.core.checks import CheckMessage, Error, Tags, register
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper

GUARD = "crew_busy_once"
TABLE = "jobs_crewmember"

POSTGRES = f"""
ALTER TABLE {TABLE} ADD CONSTRAINT {GUARD} EXCLUDE USING gist (
    int8range(person_id, person_id, '[]') WITH &&, tstzrange(busy_from, busy_until) WITH &&
) WHERE (busy_from IS NOT NULL)
"""
SQLITE = """
CREATE TRIGGER {guard}_{event} BEFORE {event} ON {table}
WHEN NEW.busy_from IS NOT NULL AND EXISTS (
    SELECT 1 FROM {table} WHERE person_id = NEW.person_id AND id IS NOT NEW.id
    AND busy_from < NEW.busy_until AND busy_until > NEW.busy_from
) BEGIN SELECT RAISE(ABORT, '{guard}'); END
"""


def install(using: str = "default", **_signal: Any) -> None:
    """Make what is missing of the guard; called after every migration."""
    connection = connections[using]
    if is_installed(connection):
        return
    with connection.cursor() as cursor:
        for statement in _statements(connection):
            cursor.execute(statement)


def is_installed(connection: BaseDatabaseWrapper) -> bool:
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SELECT count(*) FROM pg_constraint WHERE conname = %s", [GUARD])
            return bool(cursor.fetchone()[0] == 1)
        cursor.execute("SELECT count(*) FROM sqlite_master WHERE type = 'trigger' AND tbl_name = %s", [TABLE])
        return bool(cursor.fetchone()[0] == 2)


def _statements(connection: BaseDatabaseWrapper) -> list[str]:
    if connection.vendor == "postgresql":
        return [POSTGRES]
    dropped = [f"DROP TRIGGER IF EXISTS {GUARD}_{event}" for event in ("INSERT", "UPDATE")]
    made = [SQLITE.format(guard=GUARD, table=TABLE, event=event) for event in ("INSERT", "UPDATE")]
    return dropped + made


@register(Tags.database)
def check_guard(databases: Sequence[str] | None = None, **_more: Any) -> list[CheckMessage]:
    """The guard is in place wherever the table is."""
    return [
        Error(f"The guard against double booking is missing from “{name}”: run migrate.", id="jobs.E001")
        for name in databases or []
        if TABLE in connections[name].introspection.table_names() and not is_installed(connections[name])
    ]
