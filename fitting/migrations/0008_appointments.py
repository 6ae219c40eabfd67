"""Agreed fittings and private calendar addresses, and the function that forgets a client's fittings to come."""

import django.db.models.deletion
import studio.platform.database.constraints
import studio.platform.database.scope
import studio.platform.models.base
from django.db import migrations, models

from studio.platform.database.functions import make_function

ERASE = """
begin
  delete from fitting_appointment where garment_id in (select id from fitting_garment where client_id = who);
end
"""


def make_eraser(apps, schema_editor):
    make_function(schema_editor, "eraser", "fitting_erase_appointments(who uuid)", "void", ERASE, language="plpgsql")


class Migration(migrations.Migration):

    dependencies = [
        ('fitting', '0007_lays'),
        ('platform', '0004_jobs_and_tidying'),
    ]

    operations = [
        migrations.CreateModel(
            name='Appointment',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('kind', models.CharField(choices=[('paper', 'Paper'), ('toile', 'Toile'), ('baste', 'Basted'), ('final', 'Final')], max_length=8)),
                ('starts_at', models.DateTimeField()),
                ('minutes', models.PositiveSmallIntegerField(default=45)),
                ('state', models.CharField(choices=[('agreed', 'Agreed'), ('called_off', 'Called off')], default='agreed', max_length=12)),
                ('note', models.CharField(blank=True, max_length=200)),
                ('fitter', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('garment', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='appointments', to='fitting.garment')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'indexes': [models.Index(fields=['studio', 'starts_at'], name='appointment_by_time')],
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='appointment_studio_id'), studio.platform.database.constraints.StudioReference(field='garment', name='appointment_garment_same_studio'), studio.platform.database.constraints.StudioReference(field='fitter', name='appointment_fitter_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='appointment_of_studio', owned_by_door=False), models.CheckConstraint(condition=models.Q(('minutes__gte', 5), ('minutes__lte', 480)), name='appointment_5_to_480_minutes')],
            },
        ),
        migrations.CreateModel(
            name='CalendarFeed',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('mine_only', models.BooleanField(default=False)),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('revoked_at', models.DateTimeField(blank=True, null=True)),
                ('last_read_at', models.DateTimeField(blank=True, null=True)),
                ('member', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'verbose_name': 'calendar address',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='calendarfeed_studio_id'), studio.platform.database.constraints.StudioReference(field='member', name='calendarfeed_member_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='calendarfeed_of_studio', owned_by_door=False)],
            },
        ),
        migrations.RunPython(make_eraser, migrations.RunPython.noop),
    ]
