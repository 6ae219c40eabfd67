"""Spans for OpenTelemetry, where the environment asks for them (``OTEL_EXPORTER_OTLP_ENDPOINT``) and it is installed.

A span bears a route's or a job kind's name, its outcome and the request id: nothing that tells of a person.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.core.exceptions import ImproperlyConfigured

TRACERS: list[Any] = []  # one, where spans are wanted


def start(exporter: Any = None) -> None:
    """Send spans to the address that the environment names, or to ``exporter``. Raises ImproperlyConfigured."""
    if exporter is None and not os.environ.get("OTEL_EXPORTER_OTLP_ENDPOINT"):
        return
    try:
        from opentelemetry.sdk.resources import Resource
        from opentelemetry.sdk.trace import TracerProvider
        from opentelemetry.sdk.trace.export import BatchSpanProcessor, SimpleSpanProcessor

        if exporter is None:
            from opentelemetry.exporter.otlp.proto.http.trace_exporter import OTLPSpanExporter

            processor: Any = BatchSpanProcessor(OTLPSpanExporter())
        else:
            processor = SimpleSpanProcessor(exporter)
    except ImportError as exc:
        raise ImproperlyConfigured(
            "OTEL_EXPORTER_OTLP_ENDPOINT is set, but OpenTelemetry is not installed: pip install '.[tracing]'."
        ) from exc
    provider = TracerProvider(resource=Resource.create({"service.name": "studio-record"}))
    provider.add_span_processor(processor)
    TRACERS[:] = [provider.get_tracer("studio")]


@contextmanager
def span(name: str) -> Iterator[Any]:
    """A span around some work; yields it (or None) so that name and attributes can be told at its end."""
    if not TRACERS:
        yield None
        return
    # An exception's text may hold what somebody typed, so it is not recorded.
    with TRACERS[0].start_as_current_span(
        name, record_exception=False, set_status_on_exception=False
    ) as current:
        yield current
