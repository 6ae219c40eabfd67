"""The broker is out of reach for a while: requests are accepted all the same, and the jobs run when it is back."""

import socket
import threading
import time
from contextlib import suppress

import pytest

from studio.config import celery
from studio.platform.jobs import sweep
from studio.platform.models import Job
from studio.platform.services.jobs import ask_for
from tests.conftest import found_house, real_transactions
from tests.jobs import kinds  # noqa: F401 - registers the kind
from tests.jobs.conftest import RABBITMQ, rabbitmq_answers, until, worker  # noqa: F401 - fixtures

pytestmark = [
    real_transactions,
    pytest.mark.broker,
    pytest.mark.skipif(not rabbitmq_answers(), reason="no RabbitMQ answers on 127.0.0.1:5672"),
]


class Line:
    """A line of our own to the broker, which can be cut and mended."""

    def __init__(self) -> None:
        self.open = True
        self.ends: list[socket.socket] = []
        self.door = socket.create_server(("127.0.0.1", 0))
        self.port = self.door.getsockname()[1]
        threading.Thread(target=self._accept, daemon=True).start()

    def _accept(self) -> None:
        with suppress(OSError):
            while True:
                near, _ = self.door.accept()
                if not self.open:
                    near.close()
                    continue
                far = socket.create_connection(("127.0.0.1", 5672))
                self.ends += [near, far]
                for source, target in ((near, far), (far, near)):
                    threading.Thread(target=self._carry, args=(source, target), daemon=True).start()

    def _carry(self, source: socket.socket, target: socket.socket) -> None:
        with suppress(OSError):
            while block := source.recv(65536):
                target.sendall(block)
        for end in (source, target):
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)

    def cut(self) -> None:
        self.open = False
        for end in self.ends:
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)

    def close(self) -> None:
        self.cut()
        for end in (self.door, *self.ends):
            end.close()


def test_what_is_asked_for_meanwhile_is_done_afterwards(transactional_db, settings, until):  # noqa: F811
    house, line = found_house("Thimble Row"), Line()
    settings.JOB_RESEND_SECONDS = 0
    url = RABBITMQ.replace("5672", str(line.port))
    conf = celery.app.conf
    old = conf.broker_url, conf.broker_transport_options

    def use(address: str, options: dict) -> None:
        conf.broker_url = conf.broker_read_url = conf.broker_write_url = address
        conf.broker_transport_options = options
        celery.app._pool = None
        celery.app.amqp._producer_pool = None

    use(url, dict(celery.GIVE_UP_SOON))
    try:
        with worker(url):
            with house.scope():
                before = ask_for(house.instructor, "test_note", {"text": "before"})
            until(house.studio_id, before.pk, lambda job: job.state == "done")
            line.cut()
            jobs = []
            for number in range(3):
                started = time.monotonic()
                with house.scope():
                    jobs.append(ask_for(house.instructor, "test_note", {"text": str(number)}))
                assert time.monotonic() - started < 10
            with house.scope():
                assert Job.objects.filter(state="waiting").count() == len(jobs)
            line.open = True
            end = time.monotonic() + 60
            while time.monotonic() < end:
                sweep()
                with house.scope():
                    if not Job.objects.exclude(state="done").exists():
                        break
                time.sleep(1)
            for job in jobs:
                done = until(house.studio_id, job.pk, lambda found: found.state == "done")
                assert done.attempts == 1
    finally:
        use(*old)
        line.close()
