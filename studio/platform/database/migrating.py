"""Migrations that move or validate data: under FORCE the owner sees no rows, so it must be lifted for a moment."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any


@contextmanager
def unforced(schema_editor: Any, *tables: str) -> Iterator[None]:
    """Lift FORCE ROW LEVEL SECURITY for the owner while the block runs, in the migration's own transaction."""
    quote = schema_editor.quote_name
    for table in tables:
        schema_editor.execute(f"ALTER TABLE {quote(table)} NO FORCE ROW LEVEL SECURITY", None)
    yield
    for table in tables:
        schema_editor.execute(f"ALTER TABLE {quote(table)} FORCE ROW LEVEL SECURITY", None)
