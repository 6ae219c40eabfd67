import django.db.models.deletion
import studio.platform.models.base
from django.conf import settings
from django.db import migrations, models

from studio.platform.database.functions import memberships_with_rules


class Migration(migrations.Migration):

    dependencies = [
        ('platform', '0007_language'),
    ]

    operations = [
        migrations.CreateModel(
            name='CodeKey',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('secret', models.TextField()),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('confirmed_at', models.DateTimeField(blank=True, null=True)),
                ('last_step', models.BigIntegerField(default=0)),
                ('user', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Passkey',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('name', models.CharField(max_length=60)),
                ('credential_id', models.BinaryField(unique=True)),
                ('public_key', models.BinaryField()),
                ('sign_count', models.BigIntegerField(default=0)),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('used_at', models.DateTimeField(blank=True, null=True)),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='RecoveryCode',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('code_hash', models.CharField(max_length=128)),
                ('used_at', models.DateTimeField(blank=True, null=True)),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Session',
            fields=[
                ('session_key', models.CharField(max_length=40, primary_key=True, serialize=False, verbose_name='session key')),
                ('session_data', models.TextField(verbose_name='session data')),
                ('expire_date', models.DateTimeField(db_index=True, verbose_name='expire date')),
                ('began_at', models.DateTimeField()),
                ('seen_at', models.DateTimeField()),
                ('browser', models.CharField(blank=True, max_length=60)),
                ('address', models.CharField(blank=True, max_length=64)),
                ('user', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'db_table': 'platform_session',
            },
        ),
        migrations.CreateModel(
            name='Tally',
            fields=[
                ('key', models.CharField(max_length=160, primary_key=True, serialize=False)),
                ('count', models.PositiveIntegerField()),
                ('ends_at', models.DateTimeField(db_index=True)),
            ],
        ),
        migrations.DeleteModel(
            name='SignInAttempt',
        ),
        migrations.AddField(
            model_name='studio',
            name='second_step_required',
            field=models.BooleanField(db_default=False, default=False),
        ),
        migrations.RunPython(memberships_with_rules, migrations.RunPython.noop),
        # Counts are worth nothing after a crash: no flush to disk for each request.
        migrations.RunSQL('alter table platform_tally set unlogged', migrations.RunSQL.noop),
        # Sessions lie in a table of our own now; whoever was signed in signs in once more.
        migrations.RunSQL(
            "drop table if exists django_session; delete from django_migrations where app = 'sessions'",
            migrations.RunSQL.noop,
        ),
    ]
