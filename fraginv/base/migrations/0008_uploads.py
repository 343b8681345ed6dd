"""Tables that wait until somebody has looked at them, and those that were brought in."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("base", "0007_old_codes"),
    ]

    operations = [
        migrations.CreateModel(
            name="Upload",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("kind", models.CharField(max_length=20)),
                ("sha256", models.CharField(max_length=64)),
                ("name", models.CharField(max_length=120)),
                (
                    "days",
                    models.CharField(
                        choices=[
                            ("year first", "year first"),
                            ("day first", "day first"),
                            ("month first", "month first"),
                        ],
                        max_length=11,
                    ),
                ),
                ("rows", models.PositiveIntegerField(default=0)),
                ("mark", models.CharField(blank=True, max_length=64)),
                ("head", models.JSONField(default=dict)),
                ("said", models.JSONField(default=list)),
                ("problems", models.PositiveIntegerField(default=0)),
                ("at", models.DateTimeField(db_index=True)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-pk"],
            },
        ),
        migrations.CreateModel(
            name="UploadProblem",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("line", models.PositiveIntegerField()),
                ("column", models.CharField(blank=True, max_length=80)),
                ("reason", models.TextField()),
                (
                    "upload",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="problem_rows",
                        to="base.upload",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
            },
        ),
        migrations.CreateModel(
            name="TableLoad",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("kind", models.CharField(max_length=20)),
                ("mark", models.CharField(max_length=64)),
                ("again", models.PositiveSmallIntegerField(default=0)),
                ("name", models.CharField(max_length=120)),
                ("rows", models.PositiveIntegerField()),
                ("said", models.JSONField(default=list)),
                ("given", models.JSONField(default=list)),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("kind", "mark", "again"), name="table_load_once"
                    )
                ],
            },
        ),
        migrations.AddIndex(
            model_name="upload",
            index=models.Index(fields=["sha256"], name="upload_sha256"),
        ),
        migrations.AddConstraint(
            model_name="upload",
            constraint=models.CheckConstraint(
                condition=models.Q(("days__in", ["year first", "day first", "month first"])),
                name="upload_days_known",
            ),
        ),
        migrations.AddIndex(
            model_name="uploadproblem",
            index=models.Index(fields=["upload", "id"], name="upload_problem_place"),
        ),
    ]
