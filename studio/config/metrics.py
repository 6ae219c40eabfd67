"""Where the figures of each part are read: ``METRICS_ADDRESS`` for the web, the next ports for the workers.

Used by the web server's and the worker's first process, which need nothing of Django for it.
"""

import os
import shutil
from pathlib import Path

from studio.platform.metrics import FOLDER

LISTEN = "METRICS_LISTEN"  # said to a part by whoever starts it


def environment_for(address: str, data: Path, name: str, place: int) -> dict[str, str]:
    """What a part is told so that it counts; nothing where ``address`` is empty. ``place`` is added to the port."""
    if not address:
        return {}
    host, _, port = address.rpartition(":")
    folder = data / "metrics" / name.replace(" ", "-")
    return {LISTEN: f"{host}:{int(port) + place}", FOLDER: str(folder)}


def listen() -> None:
    """Start to answer, in a thread, for all processes of this part; does nothing where nobody asked for it."""
    address = os.environ.get(LISTEN)
    if not address:
        return
    folder = Path(os.environ[FOLDER])
    shutil.rmtree(folder, ignore_errors=True)  # figures of an earlier start
    folder.mkdir(parents=True)
    from prometheus_client import CollectorRegistry, start_http_server
    from prometheus_client.multiprocess import MultiProcessCollector

    registry = CollectorRegistry()
    MultiProcessCollector(registry)
    host, _, port = address.rpartition(":")
    start_http_server(int(port), addr=host.strip("[]") or "127.0.0.1", registry=registry)


def forget(pid: int) -> None:
    """A process of this part has ended: what it holds open counts no longer."""
    if os.environ.get(LISTEN):
        from prometheus_client.multiprocess import mark_process_dead

        mark_process_dead(pid)
