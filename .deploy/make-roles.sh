#!/bin/bash
# Runs once, when the database container makes its data: the image's own user is a superuser, so the studio gets
# roles of its own (owner and app role neither superuser nor bypassing policies). Same SQL as `manage.py prepare`.
set -euo pipefail
psql --set ON_ERROR_STOP=1 --username "${POSTGRES_USER:-postgres}" --dbname "$POSTGRES_DB" \
  --set prefix="$POSTGRES_DB" --set roles="${ROLES_SQL:-/roles.sql}" \
  --set owner="$OWNER_PASSWORD" --set app="$APP_PASSWORD" \
  --set queue="$QUEUE_PASSWORD" --set backup="$BACKUP_PASSWORD" <<'SQL'
select set_config('prepare.prefix', :'prefix', false),
       set_config('prepare.owner_password', :'owner', false),
       set_config('prepare.app_password', :'app', false),
       set_config('prepare.queue_password', :'queue', false),
       set_config('prepare.backup_password', :'backup', false) \g /dev/null
\i :roles
SQL
