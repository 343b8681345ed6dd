"""Columns by which what is owed is found without looking at all sales; filled next."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("trade", "0002_load_kinds")]

    operations = [
        migrations.AddField("balance", "day", models.DateField(null=True)),
        migrations.AddField(
            "balance",
            "customer",
            models.ForeignKey(
                blank=True,
                db_index=False,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="balances",
                to="trade.customer",
            ),
        ),
    ]
