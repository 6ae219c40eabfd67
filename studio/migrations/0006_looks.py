"""Who looked at whom; forgotten with her."""

import django.db.models.deletion
import studio.platform.database.constraints
import studio.platform.database.scope
import studio.platform.models.base
from django.db import migrations, models

from studio.platform.database.functions import make_function

ERASE = """
declare
  her_name text;
begin
  select name into her_name from studio_client where id = who;
  delete from studio_look where client_id = who;
  delete from studio_enrolment where client_id = who;
  update studio_readingimport set problems = '[]', version = version + 1, changed_at = now()
  where strpos(lower(problems::text), lower(coalesce(her_name, ''))) > 0 and coalesce(her_name, '') <> '';
  update studio_readingimport set remarks = '[]' where remarks <> '[]';
end
"""


def make_eraser(apps, schema_editor):
    make_function(schema_editor, "eraser", "studio_erase_places(who uuid)", "void", ERASE, language="plpgsql")


class Migration(migrations.Migration):

    dependencies = [
        ('platform', '0004_jobs_and_tidying'),
        ('studio', '0005_trust_learnt'),
    ]

    operations = [
        migrations.CreateModel(
            name='Look',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('what', models.CharField(max_length=32)),
                ('day', models.DateField()),
                ('times', models.PositiveIntegerField(default=1)),
                ('last_at', models.DateTimeField()),
                ('client', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='studio.client')),
                ('member', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='look_studio_id'), studio.platform.database.constraints.StudioReference(field='client', name='look_client_same_studio'), studio.platform.database.constraints.StudioReference(field='member', name='look_member_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='look_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'client', 'day', 'member', 'what'), name='look_once_a_day')],
            },
        ),
        migrations.RunPython(make_eraser, migrations.RunPython.noop),
    ]
