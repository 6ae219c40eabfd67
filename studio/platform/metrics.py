"""Figures for Prometheus: requests by route, jobs by kind, the connection pool. No names, no ids, no studio.

Nothing is counted unless ``METRICS_ADDRESS`` is set (see studio.config.metrics): then the processes of one part write
into one folder, and the part's first process answers for all of them.
"""

import os
from functools import cache
from typing import Any

FOLDER = "PROMETHEUS_MULTIPROC_DIR"  # the library's own name; read when its first figure is made
_SECONDS = (0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30)
_JOB_SECONDS = (0.1, 0.5, 1, 2, 5, 10, 30, 60, 120, 300, 900)


class Figures:
    """The house's figures, made once in a process that counts."""

    def __init__(self) -> None:
        from prometheus_client import Counter, Gauge, Histogram

        self.requests = Counter("studio_requests_total", "Requests answered.", ["route", "method", "status"])
        self.request_seconds = Histogram(
            "studio_request_seconds", "Time to answer a request.", ["route"], buckets=_SECONDS
        )
        self.jobs = Counter("studio_jobs_total", "Long work that ended.", ["kind", "outcome"])
        self.job_seconds = Histogram(
            "studio_job_seconds", "Time that long work took.", ["kind"], buckets=_JOB_SECONDS
        )
        self.job_waits = Histogram(
            "studio_job_wait_seconds", "Time that long work waited.", ["kind"], buckets=_JOB_SECONDS
        )
        self.jobs_due = Gauge(
            "studio_jobs_due",
            "Work that waits unheard or whose worker is gone.",
            multiprocess_mode="mostrecent",
        )
        self.pool = Gauge(
            "studio_database_connections",
            "Connections of the web's pool.",
            ["state"],
            multiprocess_mode="livesum",
        )


@cache
def figures() -> Figures | None:
    """The figures of this process; None where nobody wants any."""
    return Figures() if os.environ.get(FOLDER) else None


def count_request(route: str, method: str | None, status: int, seconds: float) -> None:
    """Count an answer under its route's name (never its path: paths carry ids and secrets)."""
    found = figures()
    if found is None:
        return
    route = route or "none"
    found.requests.labels(route, method or "", str(status)).inc()
    found.request_seconds.labels(route).observe(seconds)
    _count_pool(found)


def count_job(kind: str, outcome: str, seconds: float) -> None:
    found = figures()
    if found is not None:
        found.jobs.labels(kind, outcome).inc()
        found.job_seconds.labels(kind).observe(seconds)


def count_wait(kind: str, seconds: float) -> None:
    found = figures()
    if found is not None:
        found.job_waits.labels(kind).observe(max(0.0, seconds))


def count_due(jobs: int) -> None:
    found = figures()
    if found is not None:
        found.jobs_due.set(jobs)


def _count_pool(found: Figures) -> None:
    from django.db import connections

    pool: Any = getattr(connections["default"], "pool", None)
    if pool is None:
        return
    stats = pool.get_stats()
    found.pool.labels("open").set(stats.get("pool_size", 0))
    found.pool.labels("free").set(stats.get("pool_available", 0))
    found.pool.labels("asked for").set(stats.get("requests_waiting", 0))
