from django.db import migrations

from inventory import triggers


def install(apps, schema_editor):  # noqa: ARG001 - the signature that RunPython calls
    triggers.install_append_only(schema_editor.connection)


def remove(apps, schema_editor):  # noqa: ARG001 - the signature that RunPython calls
    triggers.remove_guards(schema_editor.connection)


class Migration(migrations.Migration):
    """Guard the ledger's rows in the database.

    Only the guards that look at their own table: those of lots read the movements, and SQLite would then refuse a later
    migration of the same run that rebuilds that table. They are put up when the run has ended.
    """

    dependencies = [
        ("inventory", "0002_lot_events_and_posting_digest"),
    ]

    operations = [migrations.RunPython(install, remove)]
