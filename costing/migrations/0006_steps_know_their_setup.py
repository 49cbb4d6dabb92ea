"""Steps of jobs made so far get the spray setup that their name names."""

from django.db import migrations


def name_setups(apps, _schema_editor):
    """One update a setup."""
    for setup in apps.get_model("costing", "SpraySetup").objects.all():
        apps.get_model("costing", "JobStep").objects.filter(setup__isnull=True, setup_name=setup.name).update(setup=setup)


class Migration(migrations.Migration):
    dependencies = [("costing", "0005_mixed_batches")]

    operations = [migrations.RunPython(name_setups, migrations.RunPython.noop)]
