"""Each balance has the day and the customer of its sale."""

from django.db import migrations
from django.db.models import OuterRef, Subquery


def fill_balances(apps, schema_editor):
    sale = apps.get_model("trade", "Sale").objects.filter(pk=OuterRef("sale"))
    apps.get_model("trade", "Balance").objects.update(
        day=Subquery(sale.values("day")[:1]), customer=Subquery(sale.values("customer")[:1])
    )


class Migration(migrations.Migration):
    dependencies = [("trade", "0003_balances_by_day_and_customer")]

    operations = [migrations.RunPython(fill_balances, migrations.RunPython.noop)]
