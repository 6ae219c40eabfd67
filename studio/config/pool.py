"""The workers' pool of processes: a worker whose child was killed ends altogether, and is started again.

On our own queue the children of a worker read their tasks from one pipe behind one lock. A child that is killed while
it waits (the system, short of memory, does such things) takes the lock along, and the worker would go on looking
alive without ever doing anything. What it had in hand is taken up again when the lease in the row runs out.
"""

import os
from typing import Any

import structlog
from celery.concurrency.prefork import TaskPool

log = structlog.get_logger(__name__)

ENDED_BY_CHILD = 70  # the exit code: an internal fault, try again


class _EndingPool(TaskPool.BlockingPool):
    def process_flush_queues(self, worker: Any) -> None:
        """Called for each child that has ended, before another takes its place."""
        super().process_flush_queues(worker)
        killed = worker.exitcode is not None and worker.exitcode < 0
        if killed and not getattr(worker, "_controlled_termination", False):
            log.error(
                "a worker's child was killed; the worker ends and is to be started again", pid=worker.pid
            )
            os._exit(ENDED_BY_CHILD)  # its main thread may be waiting for the lock


class HousePool(TaskPool):
    """Celery's own pool; a broker that has a pipe for each child (RabbitMQ) needs no more than that."""

    BlockingPool = _EndingPool
