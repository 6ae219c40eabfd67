"""Hooks of the web server: its first process answers for the figures of all."""

from typing import Any

from studio.config import metrics


def on_starting(server: Any) -> None:
    metrics.listen()


def child_exit(server: Any, worker: Any) -> None:
    metrics.forget(worker.pid)
