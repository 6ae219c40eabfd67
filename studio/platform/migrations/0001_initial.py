import django.db.models.deletion
import django.db.models.functions.text
import studio.platform.database.constraints
import studio.platform.database.scope
import studio.platform.models.base
from django.conf import settings
from django.db import migrations, models

from studio.platform.database.functions import refuse_change


class Migration(migrations.Migration):

    initial = True

    dependencies = [
    ]

    operations = [
        migrations.RunPython(refuse_change, migrations.RunPython.noop),
        migrations.CreateModel(
            name='SetupLink',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('secret_hash', models.CharField(max_length=64, unique=True)),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('expires_at', models.DateTimeField()),
                ('used_at', models.DateTimeField(blank=True, null=True)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='User',
            fields=[
                ('password', models.CharField(max_length=128, verbose_name='password')),
                ('last_login', models.DateTimeField(blank=True, null=True, verbose_name='last login')),
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('email', models.EmailField(max_length=254, unique=True)),
                ('name', models.CharField(max_length=120)),
                ('is_active', models.BooleanField(default=True)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('email', django.db.models.functions.text.Lower('email'))), name='user_email_small_letters')],
            },
        ),
        migrations.CreateModel(
            name='SignInAttempt',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('email_hash', models.CharField(max_length=64)),
                ('address', models.CharField(max_length=64)),
                ('at', models.DateTimeField(auto_now_add=True)),
            ],
            options={
                'indexes': [models.Index(fields=['email_hash', 'at'], name='signin_by_email'), models.Index(fields=['address', 'at'], name='signin_by_address')],
            },
        ),
        migrations.CreateModel(
            name='Studio',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('name', models.CharField(max_length=120)),
                ('address', models.TextField(blank=True, max_length=500)),
                ('time_zone', models.CharField(default='Europe/London', max_length=64)),
                ('unit', models.CharField(choices=[('cm', 'centimetres'), ('in', 'inches')], default='cm', max_length=2)),
                ('ease_set', models.CharField(blank=True, max_length=64)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
            ],
            options={
                'constraints': [studio.platform.database.constraints.StudioPolicy(column='id', door_reads=True, name='studio_itself', owned_by_door=False)],
            },
        ),
        migrations.CreateModel(
            name='Member',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('name', models.CharField(max_length=120)),
                ('role', models.CharField(choices=[('owner', 'Owner'), ('instructor', 'Instructor'), ('clerk', 'Clerk')], max_length=16)),
                ('active', models.BooleanField(default=True)),
                ('joined_at', models.DateTimeField(auto_now_add=True)),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='member_studio_id'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=True, name='member_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'user'), name='member_once_per_studio')],
            },
        ),
        migrations.CreateModel(
            name='Job',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('kind', models.CharField(max_length=64)),
                ('queue', models.CharField(max_length=32)),
                ('arguments', models.JSONField(default=dict)),
                ('state', models.CharField(choices=[('waiting', 'Waiting'), ('working', 'Working'), ('done', 'Done'), ('failed', 'Failed'), ('cancelled', 'Cancelled')], default='waiting', max_length=16)),
                ('progress', models.PositiveSmallIntegerField(default=0)),
                ('progress_words', models.CharField(blank=True, max_length=120)),
                ('attempts', models.PositiveSmallIntegerField(default=0)),
                ('lease_until', models.DateTimeField(blank=True, null=True)),
                ('not_before', models.DateTimeField()),
                ('rung_at', models.DateTimeField(blank=True, null=True)),
                ('error', models.TextField(blank=True)),
                ('result', models.JSONField(default=dict)),
                ('asked_at', models.DateTimeField(auto_now_add=True)),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
                ('idempotency_key', models.CharField(blank=True, max_length=128, null=True)),
                ('asked_by', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'indexes': [models.Index(condition=models.Q(('state__in', ['waiting', 'working'])), fields=['not_before'], name='job_open'), models.Index(fields=['studio', '-asked_at'], name='job_newest')],
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='job_studio_id'), studio.platform.database.constraints.StudioReference(field='asked_by', name='job_asked_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=True, name='job_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'kind', 'idempotency_key'), name='job_once_per_key'), models.CheckConstraint(condition=models.Q(('progress__lte', 100)), name='job_progress_is_percent')],
            },
        ),
        migrations.CreateModel(
            name='Invitation',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('name', models.CharField(max_length=120)),
                ('email', models.EmailField(max_length=254)),
                ('role', models.CharField(choices=[('owner', 'Owner'), ('instructor', 'Instructor'), ('clerk', 'Clerk')], max_length=16)),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('expires_at', models.DateTimeField()),
                ('used_at', models.DateTimeField(blank=True, null=True)),
                ('invited_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='invitation_studio_id'), studio.platform.database.constraints.StudioReference(field='invited_by', name='invitation_invited_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='invitation_of_studio', owned_by_door=False)],
            },
        ),
        migrations.CreateModel(
            name='Erasure',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('client_id', models.UUIDField()),
                ('reason', models.CharField(max_length=200)),
                ('at', models.DateTimeField(auto_now_add=True)),
                ('member', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='erasure_studio_id'), studio.platform.database.constraints.StudioReference(field='member', name='erasure_member_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='erasure_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='erasure_is_kept')],
            },
        ),
        migrations.CreateModel(
            name='AuditEntry',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('at', models.DateTimeField(auto_now_add=True)),
                ('request_id', models.CharField(blank=True, max_length=64)),
                ('act', models.CharField(max_length=64)),
                ('noun', models.CharField(max_length=64)),
                ('object_id', models.UUIDField()),
                ('client_id', models.UUIDField(blank=True, null=True)),
                ('detail', models.JSONField(default=dict)),
                ('member', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'indexes': [models.Index(fields=['studio', 'object_id', '-at'], name='audit_of_object'), models.Index(fields=['studio', 'client_id'], name='audit_of_client')],
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='audit_studio_id'), studio.platform.database.constraints.StudioReference(field='member', name='audit_member_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='audit_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='audit_is_kept')],
            },
        ),
        migrations.CreateModel(
            name='ApiToken',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('name', models.CharField(max_length=80)),
                ('secret_hash', models.CharField(max_length=64, unique=True)),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('expires_at', models.DateTimeField(blank=True, null=True)),
                ('revoked_at', models.DateTimeField(blank=True, null=True)),
                ('member', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='apitoken_studio_id'), studio.platform.database.constraints.StudioReference(field='member', name='apitoken_member_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=True, name='apitoken_of_studio', owned_by_door=False)],
            },
        ),
        migrations.CreateModel(
            name='StoredFile',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('key', models.CharField(max_length=200)),
                ('name', models.CharField(max_length=160)),
                ('media_type', models.CharField(max_length=80)),
                ('size', models.PositiveBigIntegerField()),
                ('sha256', models.CharField(max_length=64)),
                ('client_id', models.UUIDField(blank=True, null=True)),
                ('stored_at', models.DateTimeField(auto_now_add=True)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='file_studio_id'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='file_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='file_is_kept'), models.UniqueConstraint(fields=('studio', 'key'), name='file_key_once')],
            },
        ),
        migrations.CreateModel(
            name='StoredAnswer',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('key', models.CharField(max_length=128)),
                ('fingerprint', models.CharField(max_length=64)),
                ('status', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('body', models.JSONField(blank=True, null=True)),
                ('headers', models.JSONField(default=dict)),
                ('at', models.DateTimeField(auto_now_add=True)),
                ('member', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='answer_studio_id'), studio.platform.database.constraints.StudioReference(field='member', name='answer_member_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='answer_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'member', 'key'), name='answer_once_per_key')],
            },
        ),
    ]
