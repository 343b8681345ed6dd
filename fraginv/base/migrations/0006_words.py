"""Words by which things are found; each package fills in its own."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("base", "0005_tallies")]

    operations = [
        migrations.CreateModel(
            name="Word",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("kind", models.CharField(max_length=10)),
                ("word", models.CharField(max_length=60)),
                ("thing", models.BigIntegerField()),
            ],
            options={
                "indexes": [
                    models.Index(
                        fields=["kind", "word", "thing"],
                        name="word_beginning",
                        opclasses=["varchar_ops", "varchar_pattern_ops", "int8_ops"],
                    )
                ],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("kind", "thing", "word"), name="word_once_a_thing"
                    )
                ],
            },
        ),
    ]
