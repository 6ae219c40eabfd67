"""A real browser before the real parts: web process and report worker as their own processes, on the tests' database.

What goes wrong in a page fails the test by itself: an error or a refused resource (content security policy) in the
console, a script's error, an answer of 500 or above. An answer of 4xx is told by the browser in its console too; a
test names those that it expects (``watch.expect``).
"""

import os
import re
import shutil
import signal
import socket
import subprocess
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Page,
    Response,
    expect,
    sync_playwright,
)

from studio.config.processes import Part, wait_for_web
from studio.config.processes import web as web_part

ROOT = Path(__file__).resolve().parents[2]
FLAGS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip
TABLET = {"width": 820, "height": 1180}
DESK = {"width": 1366, "height": 900}
TELEPHONE = {"width": 390, "height": 844}
PATIENCE_MS = 20_000  # a loaded machine is slow, not wrong
STATUS_IN_CONSOLE = re.compile(r"Failed to load resource: the server responded with a status of (4\d\d)")


@pytest.fixture(scope="package", autouse=True)
def beside_a_browser() -> Iterator[None]:
    """The browser's event loop runs in the test's own thread, where Django would refuse its database."""
    old = os.environ.get("DJANGO_ALLOW_ASYNC_UNSAFE")
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    yield
    if old is None:
        del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]
    else:
        os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = old


@pytest.fixture(scope="package")
def browser(beside_a_browser: None) -> Iterator[Browser]:
    found = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
    if found is None:
        reason = "No browser on this machine: install the package chromium."
        if os.environ.get("REQUIRE_BROWSER") == "1":
            pytest.fail(reason)
        pytest.skip(reason)
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=found, args=FLAGS)
        yield chromium
        chromium.close()


@contextmanager
def process(part: Part, **environment: str) -> Iterator[None]:
    """One part of the product as it is started in real use, with the tests' settings; ended with all its children."""
    child = subprocess.Popen(
        list(part.command),
        cwd=ROOT,
        env={
            **os.environ,
            "DJANGO_SETTINGS_MODULE": "tests.settings",
            "STUDIO_PROCESS": part.process,
            **environment,
        },
        start_new_session=True,
    )
    try:
        yield
    finally:
        with suppress(ProcessLookupError):
            os.killpg(child.pid, signal.SIGTERM)
        try:
            child.wait(10)
        except subprocess.TimeoutExpired:
            os.killpg(child.pid, signal.SIGKILL)
            child.wait(10)


@pytest.fixture(scope="package")
def public_url() -> str:
    """Where the pages will be: a port that nobody else listens on."""
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return f"http://127.0.0.1:{trial.getsockname()[1]}"


@pytest.fixture(scope="package")
def served(django_db_setup: None, public_url: str) -> Iterator[str]:
    """The web process with its connection pool; gives its address."""
    address = public_url.removeprefix("http://")
    with process(web_part(address), PUBLIC_URL=public_url):
        if not wait_for_web(address):
            pytest.fail(f"The web process does not listen on {address} after 30 s.")
        with urllib.request.urlopen(f"{public_url}/health/ready", timeout=30) as answer:
            assert answer.status == 200
        yield public_url


def empty_queue() -> None:
    """Let nothing lie in the queue that another test has left there."""
    from studio.config import celery

    with celery.app.connection_for_write() as connection:
        for queue in celery.app.conf.task_queues:
            bound = queue(connection.default_channel)
            bound.declare()
            bound.purge()


@dataclass
class Watch:
    """Everything amiss in the pages of one test, each with the page on which it was seen."""

    amiss: list[str] = field(default_factory=list)
    expected: set[tuple[str, int]] = field(
        default_factory=set
    )  # (path, status) of answers that a test asks for

    def expect(self, path: str, status: int) -> None:
        self.expected.add((path, status))

    def over(self, page: Page) -> None:
        page.on("console", lambda message: self._said(page, message))
        page.on("pageerror", lambda error: self.amiss.append(f"{page.url}: script error: {error}"))
        page.on("response", self._answered)

    def _said(self, page: Page, message: ConsoleMessage) -> None:
        if message.type not in {"error", "warning"}:
            return
        where = message.location.get("url", "")
        refused = STATUS_IN_CONSOLE.match(message.text)
        if refused and (_path(where), int(refused[1])) in self.expected:
            return
        self.amiss.append(f"{page.url}: console {message.type}: {message.text} ({where})")

    def _answered(self, response: Response) -> None:
        if response.status >= 500:
            self.amiss.append(f"{response.url}: answered {response.status}")

    def assert_clean(self) -> None:
        assert not self.amiss, "\n".join(dict.fromkeys(self.amiss))


def _path(url: str) -> str:
    return re.sub(r"^https?://[^/]+", "", url).partition("?")[0]


@pytest.fixture
def watch() -> Iterator[Watch]:
    found = Watch()
    yield found
    found.assert_clean()


Visitor = Callable[..., Page]


@pytest.fixture
def visitor(browser: Browser, served: str, watch: Watch, settings: Any) -> Iterator[Visitor]:
    """Opens a page in a fresh browser of its own (no cookies, nothing remembered) at a size."""
    expect.set_options(timeout=PATIENCE_MS)
    settings.PUBLIC_URL = served  # links that a test makes by itself lead to the same place
    opened: list[BrowserContext] = []

    def open_page(size: dict[str, int], **options: Any) -> Page:
        context = browser.new_context(
            viewport=size,
            base_url=served,
            locale="en-GB",
            timezone_id="UTC",
            accept_downloads=True,
            **options,
        )
        context.set_default_timeout(PATIENCE_MS)
        context.on("page", watch.over)
        opened.append(context)
        return context.new_page()

    yield open_page
    for context in opened:
        context.close()


def sign_in(page: Page, email: str, password: str) -> None:
    """As people do: address, password, button."""
    page.goto("/sign-in/")
    page.get_by_label("Email").fill(email)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("heading", name="Today").wait_for()
