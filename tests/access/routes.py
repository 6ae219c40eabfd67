"""Every route of the URL map, who may use it, and an address of it that leads somewhere."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver, reverse

TABLES = Path(__file__).with_name("tables")
METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")
ROLES = ("owner", "instructor", "clerk")
# Who may: the words of the tables, and the roles that they let in.
WHO: dict[str, tuple[str, ...]] = {
    "anybody": ROLES,  # and those who are not signed in
    "members": ROLES,
    "teachers": ("owner", "instructor"),
    "owner": ("owner",),
    "key": (),  # whoever has the signed address; who she is does not matter, save where a test says so
}
# Which row stands for a part of an address, where its name does not say it already.
PARTS: dict[str, str] = {"supply_id": "thread", "file_id": "drawing", "photo_id": "trial_photo"}
# The same for one route, or for all whose name begins so (the longest beginning counts).
SPECIAL: dict[tuple[str, str], str] = {
    ("studio:enrol", "client_id"): "student",
    ("studio:leave", "client_id"): "student",
    ("studio:class-line", "client_id"): "student",
    ("api-course-student", "client_id"): "student",
    ("studio:correct-day-reading", "reading_id"): "day_reading",
    ("api-standard-day-correct", "reading_id"): "day_reading",
    ("studio:sheet", "job_id"): "class_sheet_job",
    ("studio:sheet-pdf", "file_id"): "class_sheet",
    ("api-course-sheet-pdf", "file_id"): "class_sheet",
    ("studio:client-copy", "file_id"): "client_copy",
    ("api-client-copy", "file_id"): "client_copy",
    ("studio:transfer", "import_id"): "reading_import",
    ("studio:export-file", "export_id"): "reading_export",
    ("api-reading-import", "import_id"): "reading_import",
    ("api-reading-export", "export_id"): "reading_export",
    ("seamlab:transfer", "import_id"): "table_import",
    ("seamlab:export-file", "export_id"): "table_export",
    ("api-seam-table", "import_id"): "table_import",
    ("api-seam-table", "export_id"): "table_export",
    ("seamlab:cloth-photo", "photo_id"): "cloth_photo",
    ("seamlab:hide-cloth-photo", "photo_id"): "cloth_photo",
    ("api-cloth-photo", "photo_id"): "cloth_photo",
    ("fitting:fit-photo", "photo_id"): "fit_photo",
    ("fitting:take-photo-away", "photo_id"): "fit_photo",
    ("fit-photo", "photo_id"): "fit_photo",
    ("seamlab:sample-sheet-file", "sheet_id"): "sample_sheet",
    ("api-sample-sheet", "sheet_id"): "sample_sheet",
    ("fitting:cutting-sheet-pdf", "sheet_id"): "cutting_sheet",
    ("fit-plan-sheet-pdf", "sheet_id"): "cutting_sheet",
    ("fitting:lay-sheet", "sheet_id"): "lay_sheet",
    ("lay-sheet-pdf", "sheet_id"): "lay_sheet",
    ("fitting:settle-ticket-job", "job_id"): "ticket_job",
    ("ticket-job-read", "job_id"): "ticket_job",
    ("studio:hide-measure", "code"): "own_measure",
    ("studio:edit-set", "code"): "own_set",
    ("studio:hide-set", "code"): "own_set",
    ("api-measure-set", "code"): "own_set",
    ("fitting:ease-set", "code"): "ease_set",
    ("ease-set-read", "code"): "ease_set",
    ("ease-rule-read", "code"): "ease_set",
    ("seamlab:sample", "code"): "sample_code",
    ("fitting:slip-code", "code"): "slip_code",
    ("fitting:grain", "key"): "lay_key",
    ("fitting:client-link", "signed"): "signed link",
    ("fitting:calendar-feed", "signed"): "signed feed",
    ("platform:join", "signed"): "signed invitation",
}
# Parts that name no row: whatever the studio, they mean the same.
FIXED: dict[tuple[str, str], Any] = {
    ("platform:colour", "colour"): "1f3f77",
    ("", "copy"): 1,
    ("studio:", "code"): "waist_girth",
    ("api-", "code"): "waist_girth",
    ("studio:pad-figure", "build"): "adult",
    ("seamlab:stitch", "code"): "301",
    ("seamlab:test-cloth", "kind"): "wash",
    ("seamlab:", "what"): "thread",
    ("fitting:paper-export", "what"): "patterns",
    ("fitting:paper-export", "form"): "csv",
    ("paper-file-read", "what"): "patterns",
    ("platform:setup", "secret"): "no-such-secret",
    ("platform:new-password", "uid"): "no-such-account",
    ("platform:new-password", "token"): "no-such-token",
}


@dataclass(frozen=True)
class Route:
    """A name of the URL map, its address with {parts}, their names, and the methods that its view answers."""

    name: str
    path: str
    parts: tuple[str, ...]
    methods: tuple[str, ...]
    is_api: bool

    def address(self, rows: Mapping[str, str]) -> str:
        """Its address with these rows; a part that names a row needs one of ``rows``."""
        return reverse(self.name, kwargs=self.values(rows))

    def values(self, rows: Mapping[str, str]) -> dict[str, Any]:
        """The parts of its address with these rows."""
        return {part: self._value(part, rows) for part in self.parts}

    def rows(self) -> set[str]:
        """Which rows its address names."""
        return {self._row(part) for part in self.parts if self._fixed(part) is None}

    def _value(self, part: str, rows: Mapping[str, str]) -> Any:
        fixed = self._fixed(part)
        return rows[self._row(part)] if fixed is None else fixed

    def _fixed(self, part: str) -> Any:
        return None if _longest(SPECIAL, self.name, part) else _longest(FIXED, self.name, part)

    def _row(self, part: str) -> str:
        return _longest(SPECIAL, self.name, part) or PARTS.get(part) or part.removesuffix("_id")


def _longest(table: Mapping[tuple[str, str], Any], name: str, part: str) -> Any:
    fitting = [start for start, what in table if what == part and name.startswith(start)]
    return table[max(fitting, key=len), part] if fitting else None


@cache
def every_route() -> dict[str, Route]:
    """By name, in the URL map's order; a route without a name, or a name used twice, is an error."""
    found: dict[str, Route] = {}
    for name, pattern, address in _walk(get_resolver()):
        assert name, f"{address} has no name"
        assert name not in found, f"two routes are called {name}"
        view = getattr(pattern.callback, "view_class", None) or getattr(pattern.callback, "cls", None)
        methods = tuple(m for m in METHODS if hasattr(view, m.lower())) if view else ("GET",)
        parts = tuple(pattern.pattern.converters) or tuple(pattern.pattern.regex.groupindex)
        path = "/" + re.sub(r"<(?:[a-z]+:)?([a-z_]+)>", r"{\1}", address)
        found[name] = Route(name, path, parts, methods, address.startswith("api/"))
    return found


def _walk(resolver: Any, space: str = "", start: str = "") -> Iterator[tuple[str, URLPattern, str]]:
    for pattern in resolver.url_patterns:
        address = start + str(pattern.pattern)
        if isinstance(pattern, URLResolver):
            yield from _walk(pattern, space + (f"{pattern.namespace}:" if pattern.namespace else ""), address)
        else:
            yield (space + pattern.name if pattern.name else ""), pattern, address


@cache
def access() -> dict[tuple[str, str], str]:
    """(route, method) → who may, from the tables in ``tables/``; each line is ``route  METHODS  who``."""
    found: dict[tuple[str, str], str] = {}
    for table in sorted(TABLES.glob("*.txt")):
        for line in table.read_text().splitlines():
            text = line.partition("#")[0].split()
            if not text:
                continue
            name, methods, who = text
            assert who in WHO, f"{table.name}: {line!r} says {who!r}; the words are {', '.join(WHO)}"
            for method in methods.split(","):
                assert (name, method) not in found, f"{table.name}: {name} {method} stands there twice"
                found[name, method] = who
    return found
