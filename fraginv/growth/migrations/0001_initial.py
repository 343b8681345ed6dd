# Photos.

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('base', '0001_initial'),
        ('stock', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Photo',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('taken_at', models.DateTimeField()),
                ('taken_on', models.DateField()),
                ('caption', models.CharField(blank=True, max_length=200)),
                ('filed_at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('colony', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='photos', to='stock.colony')),
                ('file', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='photos', to='base.storedfile')),
                ('frag', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='photos', to='stock.frag')),
                ('variety', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='photos', to='stock.variety')),
            ],
            options={
                'ordering': ['-taken_at', '-pk'],
                'indexes': [models.Index(fields=['frag', '-taken_at', '-id'], name='photo_frag_latest')],
                'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('colony__isnull', True), ('frag__isnull', False), ('variety__isnull', True)), models.Q(('colony__isnull', False), ('frag__isnull', True), ('variety__isnull', True)), models.Q(('colony__isnull', True), ('frag__isnull', True), ('variety__isnull', False)), _connector='OR'), name='photo_has_one_subject'), models.UniqueConstraint(condition=models.Q(('frag__isnull', False)), fields=('file', 'frag'), name='photo_frag_once'), models.UniqueConstraint(condition=models.Q(('colony__isnull', False)), fields=('file', 'colony'), name='photo_colony_once'), models.UniqueConstraint(condition=models.Q(('variety__isnull', False)), fields=('file', 'variety'), name='photo_variety_once')],
            },
        ),
    ]
