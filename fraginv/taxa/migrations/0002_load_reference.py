"""Load the genera of the trade and the protected species from the data files."""

from django.db import migrations

from fraginv.taxa.actions import load_reference


def load(apps, schema_editor):
    load_reference(
        apps.get_model("taxa", "Genus"), protected=apps.get_model("taxa", "ProtectedSpecies")
    )


class Migration(migrations.Migration):
    dependencies = [("taxa", "0001_initial")]

    operations = [migrations.RunPython(load, migrations.RunPython.noop)]
