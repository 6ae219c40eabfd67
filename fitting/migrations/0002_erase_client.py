"""The function that forgets a client in this wing: what was worn, seen, decided and planned goes; the garment's technical
facts (kind, cloth, pattern, seams, checkpoints) stay.

Rows that point at others go first: links and issued files before reports, accepted ease before sessions are blanked,
the garment lets go of its plan before plans go. Answers that were kept for repeated requests name these rows and go too.
"""

from django.db import migrations

from studio.platform.database.functions import make_function

ERASE = """
declare
  ids text[];
begin
  ids := array(select id::text from fitting_garment where client_id = who)
    || array(select id::text from fitting_fitplan where client_id = who)
    || array(select id::text from fitting_fitreport where client_id = who)
    || array(select l.id::text from fitting_reportlink l join fitting_fitreport r on r.id = l.report_id
             where r.client_id = who)
    || array(select s.id::text from fitting_fittingsession s join fitting_garment g on g.id = s.garment_id
             where g.client_id = who)
    || array(select n.id::text from fitting_fitnote n join fitting_fittingsession s on s.id = n.session_id
             join fitting_garment g on g.id = s.garment_id where g.client_id = who);

  delete from platform_storedanswer a
  where exists (select from unnest(ids) as mention
                where strpos(coalesce(a.body, 'null'::jsonb)::text || a.headers::text, mention) > 0);

  delete from fitting_reportlink where report_id in (select id from fitting_fitreport where client_id = who);
  delete from fitting_issuedreport where report_id in (select id from fitting_fitreport where client_id = who);
  update platform_job set arguments = '{}', result = '{}', error = '', progress_words = '', lease_until = null,
      state = case when state in ('waiting', 'working') then 'cancelled' else state end,
      ended_at = coalesce(ended_at, now())
  where id in (select job_id from fitting_fitreport where client_id = who);
  delete from fitting_fitreport where client_id = who;

  delete from fitting_acceptedease where client_id = who;
  delete from fitting_fitnote where session_id in (
      select s.id from fitting_fittingsession s join fitting_garment g on g.id = s.garment_id where g.client_id = who);
  update fitting_signoff set note = '' where session_id in (
      select s.id from fitting_fittingsession s join fitting_garment g on g.id = s.garment_id where g.client_id = who);
  update fitting_fittingsession set worn = '', posture = ''
  where garment_id in (select id from fitting_garment where client_id = who);
  update fitting_checkpointanswer set reason = case when reason = '' then '' else 'Erased on request.' end, missing = '[]'
  where garment_id in (select id from fitting_garment where client_id = who);

  update fitting_garment set plan_id = null, words = 'Erased', notes = '', version = version + 1, changed_at = now()
  where client_id = who;
  delete from fitting_fitplan where client_id = who;
end
"""


def make_eraser(apps, schema_editor):
    make_function(schema_editor, "eraser", "fitting_erase_client(who uuid)", "void", ERASE, language="plpgsql")


class Migration(migrations.Migration):
    dependencies = [("fitting", "0001_initial"), ("studio", "0001_initial"), ("platform", "0002_doors")]

    operations = [
        migrations.RunPython(make_eraser, migrations.RunPython.noop),
    ]
