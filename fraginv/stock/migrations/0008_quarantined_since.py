"""Whatever is in quarantine has been there since a day."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("stock", "0007_fill_growing")]

    operations = [
        migrations.AddConstraint(
            model_name='frag',
            constraint=models.CheckConstraint(condition=models.Q(('quarantined', False), ('quarantined_on__isnull', False), _connector='XOR'), name='frag_quarantined_since'),
        ),
    ]
