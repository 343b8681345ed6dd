"""The kinds of customer that every organisation starts with."""

from django.db import migrations

KINDS = ("retail", "shop", "staff")


def load_kinds(apps, schema_editor):
    kinds = apps.get_model("trade", "CustomerKind")
    for name in KINDS:
        kinds.objects.get_or_create(name=name)


class Migration(migrations.Migration):
    dependencies = [("trade", "0001_initial")]

    operations = [migrations.RunPython(load_kinds, migrations.RunPython.noop)]
