"""The words by which each system, trough and rack is found, read once from their names."""

from django.db import migrations

from fraginv.base.actions.words import write_words


def fill(apps, schema_editor):
    def rows(name):
        return apps.get_model("stock", name).objects.select_related().iterator()

    word = apps.get_model("base", "Word")
    systems = ((one.pk, (one.name,)) for one in rows("System"))
    troughs = ((one.pk, (one.name, one.system.name)) for one in rows("Trough"))
    racks = ((one.pk, (one.name, one.trough.name, one.trough.system.name)) for one in rows("Rack"))
    for kind, named in (("system", systems), ("trough", troughs), ("rack", racks)):
        write_words(named, kind=kind, word=word)


class Migration(migrations.Migration):
    dependencies = [("base", "0006_words"), ("stock", "0008_quarantined_since")]

    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
