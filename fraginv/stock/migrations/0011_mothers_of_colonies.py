"""From which colony each one descends, so that lineage is read without reading frags."""

import django.db.models.deletion
from django.db import migrations, models
from django.db.models import OuterRef, Subquery


def fill(apps, schema_editor):
    Colony, Frag = apps.get_model("stock", "Colony"), apps.get_model("stock", "Frag")
    mother = Frag.objects.filter(pk=OuterRef("from_frag")).values("colony")
    Colony.objects.filter(from_frag__isnull=False).update(mother=Subquery(mother))


class Migration(migrations.Migration):
    dependencies = [("stock", "0010_racks_withdrawn_and_counted")]

    operations = [
        migrations.AddField(
            model_name="colony",
            name="mother",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="daughters",
                to="stock.colony",
            ),
        ),
        migrations.RunPython(fill, migrations.RunPython.noop),
    ]
