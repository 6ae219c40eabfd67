"""The doorbell: tells the broker that a job waits. If nobody hears it, the sweeper rings again."""

from typing import Any
from uuid import UUID

import structlog

log = structlog.get_logger(__name__)

RUN_JOB = "studio.run_job"


def ring(studio_id: UUID, job_id: UUID, queue: str) -> bool:
    """Send the job's ids, never its content; a broker that does not answer costs a log line, not the request."""
    from celery import current_app

    try:
        with _producer(current_app) as producer:
            current_app.send_task(
                RUN_JOB, args=[str(studio_id), str(job_id)], queue=queue, retry=False, producer=producer
            )
    except (
        Exception
    ) as exc:  # whatever the broker's library raises: the row is there, the sweeper will ring again
        log.warning("broker not reached", job=str(job_id), error=type(exc).__name__)
        return False
    return True


def _producer(app: Any) -> Any:
    return app.producer_or_acquire()
