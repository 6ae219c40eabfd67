"""The function that forgets a client in courses and imports: her places go, and what a dry run said about her rows."""

from django.db import migrations

from studio.platform.database.functions import make_function

ERASE = """
declare
  her_name text;
begin
  select name into her_name from studio_client where id = who;
  delete from studio_enrolment where client_id = who;
  update studio_readingimport set problems = '[]', version = version + 1, changed_at = now()
  where strpos(lower(problems::text), lower(coalesce(her_name, ''))) > 0 and coalesce(her_name, '') <> '';
end
"""


def make_eraser(apps, schema_editor):
    make_function(schema_editor, "eraser", "studio_erase_places(who uuid)", "void", ERASE, language="plpgsql")


class Migration(migrations.Migration):
    dependencies = [("studio", "0003_courses_and_trust"), ("platform", "0002_doors")]

    operations = [migrations.RunPython(make_eraser, migrations.RunPython.noop)]
