"""The months' sums kept of the trade, counted once from its papers."""

from django.db import migrations

from fraginv.base.actions.tallies import fill_tallies
from fraginv.trade.queries.tallies import trade_tallies


def fill(apps, schema_editor):
    fill_tallies(trade_tallies(apps.get_model), apps.get_model("base", "Tally"))


class Migration(migrations.Migration):
    dependencies = [("base", "0005_tallies"), ("trade", "0005_indexes_of_what_is_owed")]

    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
