"""Only the owner role migrates; the app role serves."""

from typing import Any


class OwnerMigrates:
    def allow_migrate(self, db: str, app_label: str, **hints: Any) -> bool:
        return db == "owner"
