"""What is open is found by its day and by its customer."""

from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    dependencies = [("trade", "0004_fill_balances")]

    operations = [
        migrations.AlterField("balance", "day", models.DateField()),
        migrations.RemoveIndex("balance", "balance_open"),
        migrations.AddIndex(
            "balance",
            models.Index(fields=["day", "sale"], condition=Q(owed__gt=0), name="balance_open"),
        ),
        migrations.AddIndex(
            "balance",
            models.Index(
                fields=["customer", "owed"], condition=Q(owed__gt=0), name="balance_open_of"
            ),
        ),
        migrations.AddIndex(
            "sale",
            models.Index(fields=["customer", "-day", "-id"], name="sale_of_customer"),
        ),
    ]
