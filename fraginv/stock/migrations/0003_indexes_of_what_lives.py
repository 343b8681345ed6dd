"""What lives is found without looking at all that ever was."""

from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("base", "0003_address_and_visits"),
        ("stock", "0002_one_frag_a_hole"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveIndex(
            model_name="frag",
            name="frag_variety_stage",
        ),
        migrations.AddIndex(
            model_name="cutting",
            index=models.Index(fields=["-day", "-id"], name="cutting_day"),
        ),
        migrations.AddIndex(
            model_name="cutting",
            index=models.Index(fields=["colony", "-day", "-id"], name="cutting_of_colony"),
        ),
        migrations.AddIndex(
            model_name="frag",
            index=models.Index(fields=["variety", "stage", "-id"], name="frag_variety_stage"),
        ),
        migrations.AddIndex(
            model_name="frag",
            index=models.Index(
                condition=models.Q(("pieces__gte", 1)), fields=["-id"], name="frag_living"
            ),
        ),
        migrations.AddIndex(
            model_name="frag",
            index=models.Index(
                condition=models.Q(("pieces__gte", 1)),
                fields=["variety", "-id"],
                name="frag_living_variety",
            ),
        ),
        migrations.AddIndex(
            model_name="frag",
            index=models.Index(
                condition=models.Q(("pieces__gte", 1)), fields=["rack"], name="frag_living_rack"
            ),
        ),
        migrations.AddIndex(
            model_name="frag",
            index=models.Index(
                condition=models.Q(("pieces__gte", 1)), fields=["colony"], name="frag_living_colony"
            ),
        ),
        migrations.AddIndex(
            model_name="frag",
            index=models.Index(
                condition=models.Q(("pieces__gte", 1)),
                fields=["stage", "cut_on", "id"],
                name="frag_living_age",
            ),
        ),
    ]
