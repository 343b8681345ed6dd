"""The words by which each customer is found, read once from its names."""

from django.db import migrations

from fraginv.base.actions.words import write_words
from fraginv.trade.queries.finding import KIND, names_of


def fill(apps, schema_editor):
    rows = apps.get_model("trade", "Customer").objects.select_related("party")
    write_words(names_of(rows), kind=KIND, word=apps.get_model("base", "Word"))


class Migration(migrations.Migration):
    dependencies = [("base", "0006_words"), ("trade", "0006_tallies")]

    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
