"""Every migration of ours has a way back."""

from django.db.migrations.loader import MigrationLoader

OURS = {"platform", "studio", "seamlab", "fitting"}


def test_every_migration_is_reversible():
    found = MigrationLoader(None).disk_migrations
    mine = {key: migration for key, migration in found.items() if key[0] in OURS}
    assert len(mine) > len(OURS)
    stuck = [
        f"{app}.{name}: {operation.describe()}"
        for (app, name), migration in mine.items()
        for operation in migration.operations
        if not operation.reversible
    ]
    assert stuck == []
