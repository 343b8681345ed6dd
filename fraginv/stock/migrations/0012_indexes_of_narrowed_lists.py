"""What lists are narrowed to is found by an index of its own (front/queries/frag_parts.py)."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("base", "0009_blank_labels_left"),
        ("stock", "0011_mothers_of_colonies"),
    ]

    operations = [
        migrations.AddIndex(
            model_name="frag",
            index=models.Index(
                condition=models.Q(("pieces__gte", 1)),
                fields=["size", "-id"],
                name="frag_living_size",
            ),
        ),
        migrations.AddIndex(
            model_name="frag",
            index=models.Index(
                condition=models.Q(("pieces__gte", 1)),
                fields=["-cut_on", "-id"],
                name="frag_living_cut",
            ),
        ),
        migrations.AddIndex(
            model_name="frag",
            index=models.Index(fields=["stage", "-cut_on", "-id"], name="frag_stage_cut"),
        ),
        migrations.AddIndex(
            model_name="frag",
            index=models.Index(
                condition=models.Q(("free__lt", models.F("pieces"))),
                fields=["-id"],
                name="frag_held",
            ),
        ),
        migrations.AddIndex(
            model_name="frag",
            index=models.Index(
                condition=models.Q(("apart", True), ("pieces__gt", 0)),
                fields=["-id"],
                name="frag_apart",
            ),
        ),
        migrations.AddIndex(
            model_name="frag",
            index=models.Index(
                condition=models.Q(("quarantined", True), ("pieces__gt", 0)),
                fields=["-id"],
                name="frag_quarantined",
            ),
        ),
        migrations.AddIndex(
            model_name="frag",
            index=models.Index(
                condition=models.Q(("kept_back", True), ("pieces__gt", 0)),
                fields=["-id"],
                name="frag_kept_back",
            ),
        ),
        migrations.AddIndex(
            model_name="frag",
            index=models.Index(
                condition=models.Q(("wrong__gt", ""), ("pieces__gt", 0)),
                fields=["-id"],
                name="frag_wrong",
            ),
        ),
    ]
