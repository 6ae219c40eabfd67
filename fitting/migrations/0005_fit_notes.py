"""Fit notes name their sign, place on the figure and change; photographs of them, and the function that forgets those."""

import django.db.models.deletion
import studio.platform.database.constraints
import studio.platform.database.scope
import studio.platform.models.base
from django.db import migrations, models

from studio.platform.database.functions import make_function

ERASE = """
begin
  delete from fitting_fitphoto where client_id = who;
end
"""


def make_eraser(apps, schema_editor):
    make_function(schema_editor, "eraser", "fitting_erase_photos(who uuid)", "void", ERASE, language="plpgsql")


class Migration(migrations.Migration):

    dependencies = [
        ('fitting', '0004_paper'),
        ('platform', '0004_jobs_and_tidying'),
        ('studio', '0005_trust_learnt'),
    ]

    operations = [
        migrations.AddField(
            model_name='fitnote',
            name='change',
            field=models.CharField(blank=True, max_length=40),
        ),
        migrations.AddField(
            model_name='fitnote',
            name='direction',
            field=models.CharField(blank=True, max_length=16),
        ),
        migrations.AddField(
            model_name='fitnote',
            name='mark_x',
            field=models.DecimalField(blank=True, decimal_places=4, max_digits=5, null=True),
        ),
        migrations.AddField(
            model_name='fitnote',
            name='mark_y',
            field=models.DecimalField(blank=True, decimal_places=4, max_digits=5, null=True),
        ),
        migrations.AddField(
            model_name='fitnote',
            name='piece',
            field=models.CharField(blank=True, max_length=80),
        ),
        migrations.AddField(
            model_name='fitnote',
            name='pinched_mm',
            field=models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True),
        ),
        migrations.AddField(
            model_name='fitnote',
            name='seam',
            field=models.CharField(blank=True, max_length=80),
        ),
        migrations.AddField(
            model_name='fitnote',
            name='sign',
            field=models.CharField(blank=True, max_length=24),
        ),
        migrations.AddField(
            model_name='fitnote',
            name='view',
            field=models.CharField(blank=True, choices=[('front', 'front'), ('back', 'back'), ('side', 'side')], max_length=8),
        ),
        migrations.CreateModel(
            name='FitPhoto',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('taken_at', models.DateTimeField(auto_now_add=True)),
                ('client', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='studio.client')),
                ('file', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.storedfile')),
                ('note', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='photos', to='fitting.fitnote')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('taken_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
            ],
            options={
                'verbose_name': 'fit photograph',
                'indexes': [models.Index(fields=['studio', 'note'], name='fitphoto_of_note')],
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='fitphoto_studio_id'), studio.platform.database.constraints.StudioReference(field='note', name='fitphoto_note_same_studio'), studio.platform.database.constraints.StudioReference(field='client', name='fitphoto_client_same_studio'), studio.platform.database.constraints.StudioReference(field='file', name='fitphoto_file_same_studio'), studio.platform.database.constraints.StudioReference(field='taken_by', name='fitphoto_taken_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='fitphoto_of_studio', owned_by_door=False)],
            },
        ),
        migrations.RunPython(make_eraser, migrations.RunPython.noop),
    ]
