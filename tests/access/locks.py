"""In which order rows are locked, noted from the statements themselves."""

import re
from collections import defaultdict
from graphlib import CycleError, TopologicalSorter
from typing import Any

LOCKS = re.compile(r'from "(\w+)".*\bfor (?:no key )?update(?: of "(\w+)")?', re.IGNORECASE | re.DOTALL)
WRITES = re.compile(r'^\s*(update|insert into) "?(\w+)', re.IGNORECASE)
ACT_ENDS = "platform_auditentry"


class Order:
    """Notes which table's rows are locked after which other's: within one act, or until the next ``begin``."""

    def __init__(self, *, by_act: bool) -> None:
        self.by_act = by_act
        self.after: dict[str, set[str]] = defaultdict(set)
        self.seen: set[tuple[str, ...]] = set()
        self._held: list[str] = []
        self._new: set[str] = set()

    def __call__(self, execute: Any, text: str, params: Any, many: bool, context: Any) -> Any:
        said = text if isinstance(text, str) else text.as_string(None)
        found = LOCKS.search(said)
        if found:
            self._take(found[2] or found[1])
        written = WRITES.match(said)
        if written and written[1].lower() == "update" and written[2] not in self._new:
            self._take(written[2])
        elif written and written[2] == ACT_ENDS:
            self.seen.add(tuple(self._held))
            if self.by_act:
                self.begin()
        elif written:
            self._new.add(written[2])  # one's own new row makes nobody wait
        return execute(text, params, many, context)

    def begin(self) -> None:
        """A new act, whatever became of the one before."""
        self._held, self._new = [], set()

    def need_no_circle(self) -> None:
        """Fails where two tables are locked in both orders, be it by way of others."""
        try:
            tuple(TopologicalSorter(self.after).static_order())
        except CycleError as exc:
            raise AssertionError(f"rows are locked in a circle: {' → '.join(exc.args[1])}") from exc

    def _take(self, table: str) -> None:
        if table not in self._held:
            self.after[table].update(self._held)
            self._held.append(table)
