"""A studio may move to another database: where to, and nothing more is done in it here."""

from django.db import migrations, models

from studio.platform.database.functions import make_function


def doors(apps, schema_editor):
    make_function(
        schema_editor,
        "door",
        "jobs_due(resend_seconds integer)",
        "table (studio_id uuid, job_id uuid)",
        """
        select j.studio_id, j.id from platform_job j join platform_studio s on s.id = j.studio_id
        where s.moved_to = '' and j.state in ('waiting', 'working') and j.not_before <= now()
          and (j.state = 'working' and j.lease_until < now()
               or j.state = 'waiting'
               and (j.rung_at is null or j.rung_at < now() - make_interval(secs => resend_seconds)))
        order by j.not_before limit 1000
        """,
    )
    make_function(
        schema_editor,
        "door",
        "studio_ids()",
        "table (id uuid)",
        "select s.id from platform_studio s where s.moved_to = ''",
    )


class Migration(migrations.Migration):
    dependencies = [("platform", "0004_jobs_and_tidying")]

    operations = [
        migrations.AddField(
            model_name="studio",
            name="moved_to",
            field=models.URLField(blank=True, db_default="", default="", editable=False, max_length=200),
        ),
        migrations.RunPython(doors, migrations.RunPython.noop),
    ]
