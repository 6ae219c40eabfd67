import django.db.models.deletion
import studio.platform.database.constraints
import studio.platform.database.scope
import studio.platform.models.base
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('platform', '0003_keep_months'),
        ('studio', '0002_search_and_erasure'),
    ]

    operations = [
        migrations.CreateModel(
            name='Course',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('name', models.CharField(max_length=120)),
                ('starts', models.DateField(blank=True, null=True)),
                ('ends', models.DateField(blank=True, null=True)),
                ('measure_set', models.CharField(max_length=64)),
                ('notes', models.TextField(blank=True, max_length=2000)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='course_studio_id'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='course_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'name'), name='course_name_once')],
            },
        ),
        migrations.CreateModel(
            name='Enrolment',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('joined_at', models.DateTimeField(auto_now_add=True)),
                ('left_at', models.DateTimeField(blank=True, null=True)),
                ('client', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='enrolments', to='studio.client')),
                ('course', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='enrolments', to='studio.course')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='enrolment_studio_id'), studio.platform.database.constraints.StudioReference(field='course', name='enrolment_course_same_studio'), studio.platform.database.constraints.StudioReference(field='client', name='enrolment_client_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='enrolment_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'course', 'client'), name='enrolment_once')],
            },
        ),
        migrations.CreateModel(
            name='ReadingImport',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('name', models.CharField(max_length=160)),
                ('columns', models.JSONField(default=list)),
                ('mapping', models.JSONField(blank=True, default=dict)),
                ('unit', models.CharField(default='cm', max_length=2)),
                ('state', models.CharField(choices=[('uploaded', 'Uploaded'), ('checked', 'Checked'), ('taken_over', 'Taken over')], default='uploaded', max_length=12)),
                ('rows', models.PositiveIntegerField(default=0)),
                ('problems', models.JSONField(blank=True, default=list)),
                ('problem_count', models.PositiveIntegerField(default=0)),
                ('counts', models.JSONField(blank=True, default=dict)),
                ('file', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.storedfile')),
                ('job', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.job')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('uploaded_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
            ],
            options={
                'verbose_name': 'import of readings',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='readingimport_studio_id'), studio.platform.database.constraints.StudioReference(field='file', name='readingimport_file_same_studio'), studio.platform.database.constraints.StudioReference(field='uploaded_by', name='readingimport_uploaded_by_same_studio'), studio.platform.database.constraints.StudioReference(field='job', name='readingimport_job_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='readingimport_of_studio', owned_by_door=False)],
            },
        ),
        migrations.CreateModel(
            name='StandardisationDay',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('name', models.CharField(max_length=120)),
                ('held_on', models.DateField()),
                ('measures', models.JSONField(default=list)),
                ('people', models.JSONField(default=list)),
                ('reference_member', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'verbose_name': 'standardisation day',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='standardday_studio_id'), studio.platform.database.constraints.StudioReference(field='reference_member', name='standardday_reference_member_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='standardday_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'name'), name='standardday_name_once')],
            },
        ),
        migrations.CreateModel(
            name='StandardisationReading',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('person', models.CharField(max_length=40)),
                ('measure', models.CharField(max_length=64)),
                ('take', models.PositiveSmallIntegerField()),
                ('value', models.DecimalField(decimal_places=4, max_digits=10)),
                ('typed', models.CharField(max_length=32)),
                ('recorded_at', models.DateTimeField(auto_now_add=True)),
                ('day', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='readings', to='studio.standardisationday')),
                ('member', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'verbose_name': 'standardisation reading',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='standardreading_studio_id'), studio.platform.database.constraints.StudioReference(field='day', name='standardreading_day_same_studio'), studio.platform.database.constraints.StudioReference(field='member', name='standardreading_member_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='standardreading_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='standardreading_is_kept'), models.UniqueConstraint(fields=('studio', 'day', 'person', 'member', 'measure', 'take'), name='standardreading_once'), models.CheckConstraint(condition=models.Q(('value__gt', 0)), name='standardreading_is_positive')],
            },
        ),
        migrations.CreateModel(
            name='StudioMeasure',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('code', models.CharField(max_length=64)),
                ('hidden', models.BooleanField(default=False)),
                ('facts', models.JSONField(blank=True, null=True)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='studiomeasure_studio_id'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='studiomeasure_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'code'), name='studiomeasure_code_once')],
            },
        ),
        migrations.CreateModel(
            name='StudioSet',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('code', models.CharField(max_length=64)),
                ('name', models.CharField(max_length=120)),
                ('measures', models.JSONField(default=list)),
                ('repeat', models.JSONField(blank=True, default=list)),
                ('hidden', models.BooleanField(default=False)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='studioset_studio_id'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='studioset_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'code'), name='studioset_code_once')],
            },
        ),
    ]
