"""What was kept stays as it was: SQLite itself refuses to alter or delete it."""

from __future__ import annotations

from django.db import migrations

KEPT = ("store_revision", "store_trace")
VERBS = ("UPDATE", "DELETE")


def _name(table: str, verb: str) -> str:
    return f"{table}_no_{verb.lower()}"


def _refuse(table: str, verb: str) -> str:
    return (
        f"CREATE TRIGGER {_name(table, verb)} BEFORE {verb} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
    )


class Migration(migrations.Migration):
    """Triggers on the tables of revisions and of acts."""

    dependencies = [("store", "0001_initial")]
    operations = [
        migrations.RunSQL(_refuse(table, verb), f"DROP TRIGGER {_name(table, verb)}")
        for table in KEPT
        for verb in VERBS
    ]
