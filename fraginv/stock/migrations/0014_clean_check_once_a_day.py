from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("stock", "0013_indexes_of_what_is_kept_away"),
    ]

    operations = [
        migrations.RemoveIndex(
            model_name="frag",
            name="frag_set_apart",
        ),
        migrations.AddField(
            model_name="frag",
            name="checked_on",
            field=models.DateField(blank=True, null=True),
        ),
    ]
