"""Sessions in the database, each with its person, so that she can see where she is signed in and end it there."""

from datetime import UTC, datetime, timedelta
from typing import Any

from django.conf import settings
from django.contrib.sessions.backends.db import SessionStore as DatabaseStore
from django.utils import timezone

SEEN_EVERY = timedelta(minutes=5)

# What a session remembers of its beginning; the row shows it.
BEGAN, BROWSER, ADDRESS = "began", "browser", "address"


class SessionStore(DatabaseStore):
    """As Django's own, plus whose it is, when it was last seen, and an end where nobody was seen for long."""

    @classmethod
    def get_model_class(cls) -> Any:
        from studio.platform.models import Session

        return Session

    def create_model_instance(self, data: dict[str, Any]) -> Any:
        row: Any = super().create_model_instance(data)
        now = timezone.now()
        row.user_id = data.get("_auth_user_id")
        row.began_at = datetime.fromtimestamp(data[BEGAN], UTC) if BEGAN in data else now
        row.browser, row.address = data.get(BROWSER, "")[:60], data.get(ADDRESS, "")[:64]
        row.seen_at = now
        # However often it is written, it ends a working day after it began.
        row.expire_date = min(row.expire_date, row.began_at + timedelta(seconds=settings.SESSION_COOKIE_AGE))
        return row

    def _get_session_from_db(self) -> Any:
        row: Any = super()._get_session_from_db()  # type: ignore[misc]
        if row is None:
            return None
        now = timezone.now()
        if row.seen_at < now - timedelta(seconds=settings.SESSION_IDLE_SECONDS):
            self._session_key = None
            return None
        if row.seen_at < now - SEEN_EVERY:
            self.get_model_class().objects.filter(session_key=row.session_key).update(seen_at=now)
        return row
