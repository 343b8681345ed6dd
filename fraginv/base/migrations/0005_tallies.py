"""Sums that are kept as they grow, and codes by their end; each package fills in its own."""

from django.db import migrations, models

from fraginv.base.models.codes import End


class Migration(migrations.Migration):
    dependencies = [("base", "0004_since")]

    operations = [
        migrations.CreateModel(
            name="Tally",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("month", models.PositiveIntegerField()),
                ("name", models.CharField(max_length=60)),
                ("amount", models.BigIntegerField()),
            ],
            options={
                "verbose_name_plural": "tallies",
                "indexes": [models.Index(fields=["name", "month"], name="tally_by_name")],
                "constraints": [
                    models.UniqueConstraint(fields=("month", "name"), name="tally_once_a_month")
                ],
            },
        ),
        migrations.AddIndex("code", models.Index(End("code"), name="code_end")),
    ]
