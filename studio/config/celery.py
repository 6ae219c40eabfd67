"""The queue: Celery, by default on a message queue inside the same PostgreSQL.

The job row is the truth and the broker only a doorbell, so there is no result backend, and events, gossip, mingle
and remote control are off (each would make queues of its own).
"""

import os
import threading
import time
from typing import Any
from uuid import UUID

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.config.settings")

from celery import Celery
from celery.signals import beat_init, setup_logging, worker_init, worker_process_shutdown, worker_ready
from django.conf import settings
from kombu import Exchange, Queue

from studio.config import metrics

app = Celery("studio")


# A broker that does not answer costs a request at most this long; the sweeper rings again later.
GIVE_UP_SOON = {
    "max_retries": 1, "interval_start": 0, "interval_step": 0.1, "interval_max": 0.1, "connect_retries_timeout": 2,
}  # fmt: skip


def broker() -> tuple[str, dict[str, Any]]:
    """(broker URL, transport options): the named broker, else the queue in our own database."""
    if settings.CELERY_BROKER_URL:
        return settings.CELERY_BROKER_URL, dict(GIVE_UP_SOON)
    queue = settings.DATABASE.logins["queue"]
    if not queue.password:  # the transport takes an empty password for "none given" and then asks nobody
        queue = queue.as_user(queue.user, "none")
    return "pgmq://localhost", {  # the host is said by conn_string
        # libpq's key=value form: the transport's own URL reading drops ?host=, which a socket needs
        "conn_string": queue.conninfo(),
        "init_extension": False,
        "use_notify": True,  # a task starts some 10 ms after it was sent
        "notify_throttle_interval_ms": 20,
        "wait_time_seconds": 0,
        "polling_interval": 0.5,
        "visibility_timeout": 3600,
        "pool_size": 3,
        "pool_timeout": 3,
        **GIVE_UP_SOON,
    }


_url, _options = broker()
app.conf.update(
    broker_url=_url,
    broker_transport_options=_options,
    broker_connection_timeout=3,
    broker_connection_retry_on_startup=True,
    broker_connection_max_retries=None,
    task_serializer="json",
    accept_content=["json"],
    task_ignore_result=True,
    task_acks_late=False,  # the row's lease, not the broker, decides about work that was lost
    task_queues=[Queue(name, Exchange(name, type="direct"), routing_key=name) for name in settings.QUEUES],
    task_default_queue="general",
    task_default_exchange="general",
    task_default_routing_key="general",
    task_create_missing_queues=False,
    # On our own queue a worker that holds no spare message sleeps a whole polling interval between two jobs.
    worker_prefetch_multiplier=1 if settings.CELERY_BROKER_URL else 4,
    worker_pool="studio.config.pool:HousePool",
    worker_send_task_events=False,
    worker_enable_remote_control=False,
    worker_max_tasks_per_child=50,  # PDF rendering keeps memory; children are replaced
    worker_hijack_root_logger=False,
    beat_schedule_filename=str(settings.DATA_DIR / "schedule"),
    beat_schedule={
        "sweep": {
            "task": "studio.sweep",
            "schedule": float(settings.JOB_SWEEP_SECONDS),
            "options": {"queue": "general", "expires": 60},
        },
        "tidy": {"task": "studio.tidy", "schedule": 3600.0, "options": {"queue": "general", "expires": 1800}},
    },
    timezone="UTC",
)


@setup_logging.connect
def _keep_django_logging(**_: Any) -> None:
    """Celery would set its own handlers; the house's logging is set by Django already."""


def _give_signs(**_: Any) -> None:
    """Touch this process's file every half minute, from a thread that dies with the process."""

    def touch() -> None:
        settings.SIGNS_DIR.mkdir(parents=True, exist_ok=True)
        sign = settings.SIGNS_DIR / str(os.getpid())
        while True:
            sign.touch()
            time.sleep(30)

    threading.Thread(target=touch, daemon=True, name="signs-of-life").start()


@worker_init.connect
def _tell_figures(**_: Any) -> None:
    """The first process of a worker answers for the figures of its children."""
    metrics.listen()


@worker_process_shutdown.connect
def _forget_figures(pid: int, **_: Any) -> None:
    metrics.forget(pid)


worker_ready.connect(_give_signs, weak=False)
beat_init.connect(_give_signs, weak=False)


@app.task(name="studio.run_job")
def run_job_task(studio_id: str, job_id: str) -> None:
    from studio.platform.jobs import run_job

    run_job(UUID(studio_id), UUID(job_id))


@app.task(name="studio.sweep")
def sweep_task() -> None:
    from studio.platform.jobs import sweep

    sweep()


@app.task(name="studio.tidy")
def tidy_task() -> None:
    from studio.platform.services.tidy import tidy

    tidy()
