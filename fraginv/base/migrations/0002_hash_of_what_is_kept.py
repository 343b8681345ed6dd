from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('base', '0001_initial'),
    ]

    operations = [
        migrations.AddField(
            model_name='storedfile',
            name='kept_sha256',
            field=models.CharField(default='', max_length=64),
            preserve_default=False,
        ),
    ]
