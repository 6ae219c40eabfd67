"""The client's own word on a fitting, the function that forgets it, and two indexes for the years of past fits."""

import django.db.models.deletion
import studio.platform.database.constraints
import studio.platform.database.scope
import studio.platform.models.base
from django.db import migrations, models

from studio.platform.database.functions import make_function

ERASE = """
begin
  delete from fitting_clientagreement where session_id in (
      select s.id from fitting_fittingsession s join fitting_garment g on g.id = s.garment_id where g.client_id = who);
end
"""


def make_eraser(apps, schema_editor):
    make_function(schema_editor, "eraser", "fitting_erase_agreements(who uuid)", "void", ERASE, language="plpgsql")


class Migration(migrations.Migration):

    dependencies = [
        ('fitting', '0009_tickets'),
        ('platform', '0004_jobs_and_tidying'),
    ]

    operations = [
        migrations.CreateModel(
            name='ClientAgreement',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('name', models.CharField(max_length=120)),
                ('by_guardian', models.BooleanField(default=False)),
                ('agreed', models.JSONField()),
                ('at', models.DateTimeField(auto_now_add=True)),
                ('session', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='agreements', to='fitting.fittingsession')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('witness', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
            ],
            options={
                'verbose_name': "client's agreement",
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='clientagreement_studio_id'), studio.platform.database.constraints.StudioReference(field='session', name='clientagreement_session_same_studio'), studio.platform.database.constraints.StudioReference(field='witness', name='clientagreement_witness_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='clientagreement_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='clientagreement_is_kept'), models.UniqueConstraint(fields=('studio', 'session'), name='clientagreement_once')],
            },
        ),
        migrations.AddIndex(
            model_name='fittingsession',
            index=models.Index(fields=['studio', 'held_at'], name='session_by_day'),
        ),
        migrations.AddIndex(
            model_name='garment',
            index=models.Index(fields=['studio', 'created_at'], name='garment_by_day'),
        ),
        migrations.RunPython(make_eraser, migrations.RunPython.noop),
    ]
