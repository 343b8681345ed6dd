"""Places may be withdrawn; what was counted of a rack so far is kept."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models
from django.db.models import Q

IN_USE = Q(withdrawn_on__isnull=True)


class Migration(migrations.Migration):
    dependencies = [
        ("stock", "0009_words_of_places"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(model_name="rack", name="rack_name_once"),
        migrations.RemoveConstraint(model_name="trough", name="trough_name_once"),
        migrations.AddField(
            model_name="rack",
            name="withdrawn_on",
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="system",
            name="withdrawn_on",
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="trough",
            name="withdrawn_on",
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AlterField(
            model_name="system",
            name="name",
            field=models.CharField(max_length=60),
        ),
        migrations.AddConstraint(
            model_name="rack",
            constraint=models.UniqueConstraint(
                condition=IN_USE, fields=("trough", "name"), name="rack_name_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="system",
            constraint=models.UniqueConstraint(
                condition=IN_USE, fields=("name",), name="system_name_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="trough",
            constraint=models.UniqueConstraint(
                condition=IN_USE, fields=("system", "name"), name="trough_name_once"
            ),
        ),
        migrations.CreateModel(
            name="RackCount",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("begun_at", models.DateTimeField()),
                ("there", models.JSONField(default=dict)),
                ("extra", models.JSONField(default=list)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "rack",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="counts",
                        to="stock.rack",
                    ),
                ),
            ],
            options={"ordering": ["rack", "by"]},
        ),
        migrations.AddConstraint(
            model_name="rackcount",
            constraint=models.UniqueConstraint(
                fields=("rack", "by"), name="rack_count_one_each"
            ),
        ),
    ]
