"""Load the chart of accounts, and put the chain's head at its start."""

from django.db import migrations

from fraginv.ledger.actions import load_chart


def load(apps, schema_editor):
    load_chart(apps.get_model("ledger", "Account"))
    apps.get_model("ledger", "ChainHead").objects.get_or_create(pk=1)


class Migration(migrations.Migration):
    dependencies = [("ledger", "0001_initial")]

    operations = [migrations.RunPython(load, migrations.RunPython.noop)]
