"""The function that stops a client's reports in the making, called before anything of hers is forgotten.

A worker that is just storing a report holds its job's row. Waiting for that row first means that what the worker stored
is there to be forgotten with the rest; after it no worker stores anything more.
"""

from django.db import migrations

from studio.platform.database.functions import make_function

STOP = """
begin
  update platform_job set arguments = '{}', result = '{}', error = '', progress_words = '', lease_until = null,
      state = case when state in ('waiting', 'working') then 'cancelled' else state end,
      ended_at = coalesce(ended_at, now())
  where id in (select job_id from fitting_fitreport where client_id = who);
end
"""


def make_stopper(apps, schema_editor):
    make_function(schema_editor, "eraser", "fitting_stop_reports(who uuid)", "void", STOP, language="plpgsql")


class Migration(migrations.Migration):
    dependencies = [("fitting", "0002_erase_client")]

    operations = [migrations.RunPython(make_stopper, migrations.RunPython.noop)]
