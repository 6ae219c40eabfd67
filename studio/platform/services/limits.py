"""How often something may be tried, counted in the database so that all web processes share one count.

Call it outside any scope: a rollback then forgets nothing and nobody waits for a lock that a long request holds.
Two stretches of time are weighed (a sliding window made of two fixed ones), so there is no burst at their border.
What is refused is not counted, so whoever keeps on trying is not shut out for longer than whoever waits.
"""

import time
from dataclasses import dataclass
from datetime import UTC, datetime

from django.db import connection

from studio.platform.models import Tally

COUNT_ONE = """
insert into platform_tally as t (key, count, ends_at) values (%(now)s, 1, %(ends)s)
on conflict (key) do update set count = t.count + 1
returning count, coalesce((select b.count from platform_tally b where b.key = %(before)s), 0)
"""


@dataclass(frozen=True)
class Limit:
    """At most ``most`` times in ``seconds``."""

    name: str
    most: int
    seconds: int

    def _slot(self, whom: str, number: int) -> str:
        return f"{self.name}:{number}:{whom}"[:160]

    def count(self, whom: str) -> int:
        """Count one try; 0 where it is allowed, else the seconds to wait."""
        now = time.time()
        number, elapsed = divmod(now, self.seconds)
        values: dict[str, str | datetime] = {
            "now": self._slot(whom, int(number)),
            "before": self._slot(whom, int(number) - 1),
            "ends": datetime.fromtimestamp(now + 2 * self.seconds, UTC),
        }
        with connection.cursor() as cursor:
            cursor.execute(COUNT_ONE, values)
            count, before = cursor.fetchone()
        weighed = count + before * (1 - elapsed / self.seconds)
        if weighed <= self.most:
            return 0
        self.take_back(whom)
        return max(1, round(self.seconds - elapsed))

    def take_back(self, whom: str) -> None:
        """Let the last try count for nothing: it turned out well, or was refused."""
        with connection.cursor() as cursor:
            cursor.execute(
                "update platform_tally set count = greatest(count - 1, 0) where key = %s",
                [self._slot(whom, int(time.time() // self.seconds))],
            )

    def forget(self, whom: str) -> None:
        """Begin anew for this one."""
        number = int(time.time() // self.seconds)
        Tally.objects.filter(key__in=[self._slot(whom, number), self._slot(whom, number - 1)]).delete()
