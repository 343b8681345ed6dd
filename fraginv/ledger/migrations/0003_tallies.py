"""What moved on each account in each month, counted once from the lines."""

from django.db import migrations

from fraginv.base.actions.tallies import fill_tallies
from fraginv.ledger.queries import ledger_tallies


def fill(apps, schema_editor):
    counted = ledger_tallies(apps.get_model("ledger", "Line"))
    fill_tallies(counted, apps.get_model("base", "Tally"))


class Migration(migrations.Migration):
    dependencies = [("base", "0005_tallies"), ("ledger", "0002_load_chart")]

    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
