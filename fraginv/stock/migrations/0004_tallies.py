"""Holds by their end, and the sums kept of the stock, counted once from its events."""

from django.db import migrations, models
from django.db.models import Q

from fraginv.base.actions.tallies import fill_tallies
from fraginv.stock.queries.tallies import stock_tallies


def fill(apps, schema_editor):
    counted = stock_tallies(apps.get_model("stock", "FragEvent"))
    fill_tallies(counted, apps.get_model("base", "Tally"))


class Migration(migrations.Migration):
    dependencies = [("base", "0005_tallies"), ("stock", "0003_indexes_of_what_lives")]

    operations = [
        migrations.RunPython(fill, migrations.RunPython.noop),
        migrations.AddIndex(
            "claim",
            models.Index(
                fields=["until", "id"],
                condition=Q(ended_at__isnull=True, until__isnull=False),
                name="claim_running_out",
            ),
        ),
    ]
