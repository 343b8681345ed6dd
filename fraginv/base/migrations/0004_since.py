from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("base", "0003_address_and_visits"),
    ]

    operations = [
        migrations.AddField(
            model_name="person",
            name="since",
            field=models.DateTimeField(blank=True, null=True),
        ),
    ]
