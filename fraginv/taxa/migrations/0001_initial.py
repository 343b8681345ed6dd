# The reference tables.

from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
    ]

    operations = [
        migrations.CreateModel(
            name='Genus',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=60, unique=True)),
                ('family', models.CharField(max_length=60)),
                ('order', models.CharField(max_length=60)),
                ('group', models.CharField(choices=[('SPS', 'Small-polyp stony (SPS)'), ('LPS', 'Large-polyp stony (LPS)'), ('soft', 'Soft coral'), ('zoanthid', 'Zoanthid'), ('mushroom', 'Mushroom'), ('gorgonian', 'Gorgonian'), ('anemone', 'Anemone'), ('clam', 'Clam'), ('macroalga', 'Macroalga'), ('other', 'Other')], max_length=20)),
                ('cites', models.BooleanField(help_text='Listed in CITES Appendix II.')),
                ('palytoxin', models.BooleanField(help_text='May carry palytoxin.')),
                ('other_names', models.CharField(blank=True, max_length=200)),
                ('note', models.CharField(blank=True, max_length=300)),
                ('source', models.CharField(help_text='Where genus and family were read.', max_length=300)),
                ('verified', models.BooleanField(help_text='The pair of genus and family was looked up.')),
            ],
            options={
                'verbose_name_plural': 'genera',
                'ordering': ['name'],
                'constraints': [models.CheckConstraint(condition=models.Q(('group__in', ('SPS', 'LPS', 'soft', 'zoanthid', 'mushroom', 'gorgonian', 'anemone', 'clam', 'macroalga', 'other'))), name='genus_group_is_known')],
            },
        ),
        migrations.CreateModel(
            name='ProtectedSpecies',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('genus', models.CharField(max_length=60)),
                ('species', models.CharField(max_length=60)),
                ('also_known_as', models.CharField(blank=True, max_length=120)),
                ('status', models.CharField(choices=[('threatened', 'Threatened'), ('endangered', 'Endangered')], max_length=20)),
                ('source', models.CharField(max_length=300)),
            ],
            options={
                'verbose_name_plural': 'protected species',
                'ordering': ['genus', 'species'],
                'constraints': [models.UniqueConstraint(fields=('genus', 'species'), name='protected_species_once')],
            },
        ),
    ]
