"""The product's own worker with the tests' kinds of work registered."""

from celery.signals import worker_process_init

from studio.config.celery import app

__all__ = ["app"]


@worker_process_init.connect
def _register(**_: object) -> None:
    from tests.jobs import kinds  # noqa: F401
