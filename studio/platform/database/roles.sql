-- Makes the studio's roles in a cluster and their rights in the current database. Plain SQL, safe to run again.
-- Its caller sets, in the same session: prepare.prefix and prepare.{owner,app,queue,backup}_password.
--   owner   migrates; owns the tables; neither superuser nor bypassing policies
--   app     serves; owns nothing, bypasses nothing
--   queue   owns schema pgmq (the message queue) and nothing else
--   backup  reads everything, past the policies; used by the backup command alone
--   door    no login; owns the few functions that must look across studios
--   eraser  no login; owns the functions that erase a person on request
do $roles$
declare
  prefix text := current_setting('prepare.prefix');
  part text;
begin
  -- Two machines may prepare one cluster at the same moment: roles belong to the cluster.
  perform pg_advisory_xact_lock(hashtext('prepare roles of ' || prefix));
  foreach part in array array['owner', 'app', 'queue', 'backup'] loop
    if not exists (select from pg_roles where rolname = prefix || '_' || part) then
      execute format('create role %I', prefix || '_' || part);
    end if;
    execute format('alter role %I with login password %L',
                   prefix || '_' || part, current_setting('prepare.' || part || '_password'));
  end loop;
  foreach part in array array['door', 'eraser'] loop
    if not exists (select from pg_roles where rolname = prefix || '_' || part) then
      execute format('create role %I nologin', prefix || '_' || part);
    end if;
    execute format('grant %I to %I', prefix || '_' || part, prefix || '_owner');
  end loop;
  begin
    execute format('alter role %I bypassrls', prefix || '_backup');
  exception when insufficient_privilege then
    raise notice 'This administrator may not grant BYPASSRLS: backups must be made with the server''s own means.';
  end;
  execute format('alter role %I set statement_timeout = %L', prefix || '_app', '60s');
  execute format('alter role %I set idle_in_transaction_session_timeout = %L', prefix || '_app', '120s');
end
$roles$;

create extension if not exists pg_trgm;
create extension if not exists unaccent;

do $grants$
declare
  prefix text := current_setting('prepare.prefix');
begin
  execute format('revoke all on database %I from public', current_database());
  execute format('grant connect, temporary on database %I to %I, %I, %I, %I', current_database(),
                 prefix || '_owner', prefix || '_app', prefix || '_queue', prefix || '_backup');
  execute 'revoke all on schema public from public';
  execute format('grant usage, create on schema public to %I, %I, %I',
                 prefix || '_owner', prefix || '_door', prefix || '_eraser');
  execute format('grant usage on schema public to %I, %I', prefix || '_app', prefix || '_backup');
  -- The queue's own SQL asks for CREATE on the database even where its schema exists already.
  execute format('grant create on database %I to %I', current_database(), prefix || '_queue');
end
$grants$;
