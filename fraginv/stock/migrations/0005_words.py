"""The words by which each variety is found, read once from its names."""

from django.db import migrations

from fraginv.base.actions.words import write_words
from fraginv.stock.queries.varieties import KIND, names_of


def fill(apps, schema_editor):
    rows = apps.get_model("stock", "Variety").objects.select_related("genus")
    write_words(names_of(rows), kind=KIND, word=apps.get_model("base", "Word"))


class Migration(migrations.Migration):
    dependencies = [("base", "0006_words"), ("stock", "0004_tallies")]

    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
