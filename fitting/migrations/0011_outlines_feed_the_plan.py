"""Outlines feed the flat measures; a lay's cut and the lay of its small pieces; the table's sheet as a file."""

import django.db.models.deletion
import studio.platform.database.constraints
import studio.platform.database.scope
import studio.platform.models.base
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('fitting', '0010_client_agreement'),
        ('platform', '0004_jobs_and_tidying'),
        ('seamlab', '0003_small_photographs'),
    ]

    operations = [
        migrations.CreateModel(
            name='LaySheet',
            fields=[
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('number', models.PositiveSmallIntegerField()),
                ('snapshot', models.JSONField()),
                ('pages', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('asked_at', models.DateTimeField(auto_now_add=True)),
                ('asked_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('file', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.storedfile')),
                ('job', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.job')),
                ('lay', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='sheets', to='fitting.layplan')),
            ],
            options={
                'verbose_name': 'sheet of a lay',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='laysheet_studio_id'), studio.platform.database.constraints.StudioReference(field='lay', name='laysheet_lay_same_studio'), studio.platform.database.constraints.StudioReference(field='job', name='laysheet_job_same_studio'), studio.platform.database.constraints.StudioReference(field='file', name='laysheet_file_same_studio'), studio.platform.database.constraints.StudioReference(field='asked_by', name='laysheet_asked_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='laysheet_of_studio', owned_by_door=False)],
                'indexes': [models.Index(fields=['studio', 'lay', '-asked_at'], name='laysheet_newest')],
            },
        ),
        migrations.AddField(
            model_name='flatmeasure',
            name='from_outline',
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name='layplan',
            name='cut',
            field=models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='seamlab.boltrecord'),
        ),
        migrations.AddField(
            model_name='layplan',
            name='taken_from',
            field=models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='taken_out', to='fitting.layplan'),
        ),
        migrations.AddField(
            model_name='patternmeasure',
            name='from_outline',
            field=models.BooleanField(default=False),
        ),
        migrations.AddConstraint(
            model_name='layplan',
            constraint=studio.platform.database.constraints.StudioReference(field='taken_from', name='layplan_taken_from_same_studio'),
        ),
        migrations.AddConstraint(
            model_name='layplan',
            constraint=studio.platform.database.constraints.StudioReference(field='cut', name='layplan_cut_same_studio'),
        ),
    ]
