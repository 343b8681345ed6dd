"""The size at which each code was printed last, kept with its other sizes."""

from django.db import migrations


def fill(apps, schema_editor):
    code, size = apps.get_model("base", "Code"), apps.get_model("base", "PrintedSize")
    printed = code.objects.filter(symbol_mm__isnull=False)
    rows = printed.values_list("pk", "symbol_mm", "printed_at").iterator()
    size.objects.bulk_create(
        [size(code_id=pk, symbol_mm=side, printed_at=at) for pk, side, at in rows], batch_size=500
    )


class Migration(migrations.Migration):
    dependencies = [("base", "0011_printed_sizes")]

    operations = [
        migrations.RunPython(fill, migrations.RunPython.noop),
        migrations.RemoveField(model_name="code", name="symbol_mm"),
    ]
