import django.db.models.deletion
import studio.platform.database.constraints
import studio.platform.database.scope
import studio.platform.models.base
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('platform', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='Client',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('name', models.CharField(max_length=160)),
                ('telephone', models.CharField(blank=True, max_length=40)),
                ('email', models.EmailField(blank=True, max_length=254)),
                ('born', models.DateField(blank=True, null=True)),
                ('unit', models.CharField(choices=[('cm', 'centimetres'), ('in', 'inches')], default='cm', max_length=2)),
                ('guardian_name', models.CharField(blank=True, max_length=160)),
                ('guardian_telephone', models.CharField(blank=True, max_length=40)),
                ('guardian_email', models.EmailField(blank=True, max_length=254)),
                ('figures_in_report', models.BooleanField(default=True)),
                ('notes', models.TextField(blank=True, max_length=2000)),
                ('erased_at', models.DateTimeField(blank=True, editable=False, null=True)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'indexes': [models.Index(fields=['studio', 'name'], name='client_by_name')],
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='client_studio_id'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='client_of_studio', owned_by_door=False)],
            },
        ),
        migrations.CreateModel(
            name='ClientSearch',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('source', models.CharField(max_length=16)),
                ('source_id', models.UUIDField()),
                ('words', models.TextField()),
                ('folded', models.TextField()),
                ('digits', models.CharField(blank=True, max_length=60)),
                ('at', models.DateTimeField()),
                ('client', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='studio.client')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'source', 'source_id'), name='clientsearch_source_once'), models.UniqueConstraint(fields=('studio', 'id'), name='clientsearch_studio_id'), studio.platform.database.constraints.StudioReference(field='client', name='clientsearch_client_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='clientsearch_of_studio', owned_by_door=True)],
            },
        ),
        migrations.CreateModel(
            name='Consent',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('kind', models.CharField(choices=[('measure', 'Being measured, and the figures kept'), ('photograph', 'Photographs')], max_length=16)),
                ('given', models.BooleanField()),
                ('given_by', models.CharField(max_length=160)),
                ('by_guardian', models.BooleanField(default=False)),
                ('at', models.DateTimeField(auto_now_add=True)),
                ('note', models.CharField(blank=True, max_length=400)),
                ('client', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='consents', to='studio.client')),
                ('recorded_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'indexes': [models.Index(fields=['studio', 'client', 'kind', '-at'], name='consent_newest')],
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='consent_studio_id'), studio.platform.database.constraints.StudioReference(field='client', name='consent_client_same_studio'), studio.platform.database.constraints.StudioReference(field='recorded_by', name='consent_recorded_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='consent_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='consent_is_kept')],
            },
        ),
        migrations.CreateModel(
            name='Measuring',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('measured_at', models.DateTimeField()),
                ('over', models.CharField(choices=[('underwear', 'Underwear'), ('close_clothing', 'Close clothing'), ('clothing', 'Ordinary clothing')], default='close_clothing', max_length=20)),
                ('shoes', models.BooleanField(default=False)),
                ('posture', models.CharField(default='standing, relaxed', max_length=80)),
                ('tape', models.CharField(blank=True, max_length=80)),
                ('guardian_present', models.CharField(blank=True, max_length=160)),
                ('notes', models.TextField(blank=True, max_length=2000)),
                ('recorded_at', models.DateTimeField(auto_now_add=True)),
                ('client', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='measurings', to='studio.client')),
                ('measured_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'indexes': [models.Index(fields=['studio', 'client', '-measured_at'], name='measuring_newest')],
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='measuring_studio_id'), studio.platform.database.constraints.StudioReference(field='client', name='measuring_client_same_studio'), studio.platform.database.constraints.StudioReference(field='measured_by', name='measuring_measured_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='measuring_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='measuring_is_kept')],
            },
        ),
        migrations.CreateModel(
            name='Reading',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('measure', models.CharField(max_length=64)),
                ('take', models.PositiveSmallIntegerField(default=1)),
                ('value', models.DecimalField(decimal_places=4, max_digits=10)),
                ('typed', models.CharField(max_length=32)),
                ('reason', models.CharField(blank=True, max_length=200)),
                ('kept_because', models.CharField(blank=True, max_length=200)),
                ('recorded_at', models.DateTimeField(auto_now_add=True)),
                ('client', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='studio.client')),
                ('measuring', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='readings', to='studio.measuring')),
                ('recorded_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('supersedes', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='studio.reading')),
            ],
            options={
                'indexes': [models.Index(fields=['studio', 'client', 'measure', '-recorded_at'], name='reading_history')],
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='reading_studio_id'), studio.platform.database.constraints.StudioReference(field='measuring', name='reading_measuring_same_studio'), studio.platform.database.constraints.StudioReference(field='client', name='reading_client_same_studio'), studio.platform.database.constraints.StudioReference(field='supersedes', name='reading_supersedes_same_studio'), studio.platform.database.constraints.StudioReference(field='recorded_by', name='reading_recorded_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='reading_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='reading_is_kept'), models.CheckConstraint(condition=models.Q(('value__gt', 0)), name='reading_is_positive'), models.UniqueConstraint(condition=models.Q(('supersedes', None)), fields=('studio', 'measuring', 'measure', 'take'), name='reading_take_once'), models.UniqueConstraint(fields=('studio', 'supersedes'), name='reading_superseded_once'), models.CheckConstraint(condition=models.Q(('supersedes', None), models.Q(('reason', ''), _negated=True), _connector='OR'), name='correction_has_reason')],
            },
        ),
    ]
