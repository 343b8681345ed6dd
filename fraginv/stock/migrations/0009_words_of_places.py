"""The words by which each system, trough and rack is found, read once from their names."""

from django.db import migrations

from fraginv.base.actions.words import write_words
from fraginv.stock.queries import places


def fill(apps, schema_editor):
    word = apps.get_model("base", "Word")
    systems = apps.get_model("stock", "System").objects.all()
    troughs = apps.get_model("stock", "Trough").objects.select_related("system")
    racks = apps.get_model("stock", "Rack").objects.select_related("trough__system")
    write_words(places.names_of_systems(systems), kind=places.SYSTEM, word=word)
    write_words(places.names_of_troughs(troughs), kind=places.TROUGH, word=word)
    write_words(places.names_of_racks(racks), kind=places.RACK, word=word)


class Migration(migrations.Migration):
    dependencies = [("base", "0006_words"), ("stock", "0008_quarantined_since")]

    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
