"""Programs that work in the studio over HTTP, ask again until they are answered, and remember what was promised."""

import http.client
import json
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from itertools import count
from random import Random
from typing import Any
from urllib.parse import urlencode
from uuid import uuid4

PATIENCE_SECONDS = 300.0
FIGURES = {
    "bust_girth": 96, "waist_girth": 78, "hip_girth": 104, "neck_girth": 36, "upper_arm_girth": 30, "wrist_girth": 16,
}  # fmt: skip


class NeverAnswered(Exception):
    """A request was not answered within PATIENCE_SECONDS of asking again, or refused."""


@dataclass(frozen=True)
class Answer:
    status: int
    headers: dict[str, str]
    body: Any


@dataclass
class Ledger:
    """What was acknowledged, by kind of act: {tag: facts}; shared by all programs."""

    acts: dict[str, dict[str, dict[str, Any]]] = field(default_factory=dict)
    perhaps: set[str] = field(
        default_factory=set
    )  # edits whose answer was lost and which others then wrote over
    counts: Counter[str] = field(default_factory=Counter)
    troubles: list[str] = field(default_factory=list)
    _gate: threading.Lock = field(default_factory=threading.Lock)

    def keep(self, kind: str, tag: str, **facts: Any) -> None:
        with self._gate:
            self.acts.setdefault(kind, {})[tag] = facts

    def count(self, what: str) -> None:
        with self._gate:
            self.counts[what] += 1

    def of(self, kind: str) -> dict[str, dict[str, Any]]:
        return self.acts.get(kind, {})

    @property
    def acknowledged(self) -> int:
        return sum(len(found) for found in self.acts.values())


@dataclass
class Caller:
    """One program with a token."""

    address: str
    token: str
    ledger: Ledger

    def once(self, method: str, path: str, body: bytes | None, headers: dict[str, str]) -> Answer | None:
        """The answer, or None where there was none: refused, broken off, silent, or a fault (5xx)."""
        connection = http.client.HTTPConnection(self.address, timeout=30)
        try:
            connection.request(method, path, body, {"Authorization": f"Bearer {self.token}", **headers})
            found = connection.getresponse()
            raw = found.read()
            if found.status >= 500:
                self.ledger.count(f"answers {found.status}")
                return None
            kind = found.headers.get_content_type()
            return Answer(
                found.status, dict(found.headers), json.loads(raw) if raw and "json" in kind else raw
            )
        except (OSError, http.client.HTTPException, ValueError):
            self.ledger.count("no answer")
            return None
        finally:
            connection.close()

    def ask(
        self, method: str, path: str, given: Any = None, *, body: bytes | None = None, **headers: str
    ) -> Answer:
        """Ask until answered; a POST carries one Idempotency-Key through all tries."""
        sent = {name.replace("_", "-"): value for name, value in headers.items()}
        if given is not None:
            body = json.dumps(given).encode()
            sent["Content-Type"] = "application/json"
        if method == "POST":
            sent["Idempotency-Key"] = str(uuid4())
        end = time.monotonic() + PATIENCE_SECONDS
        while True:
            found = self.once(method, "/api/v1/" + path, body, sent)
            if found is not None and found.status != 429:
                return found
            if time.monotonic() > end:
                raise NeverAnswered(f"{method} {path}")
            self.ledger.count("asked again")
            time.sleep(0.3)

    def made(self, path: str, given: Any = None, **more: Any) -> Any:
        """The body of a creating request that must succeed."""
        found = self.ask("POST", path, {} if given is None and "body" not in more else given, **more)
        if found.status not in (200, 201, 202):
            raise NeverAnswered(f"POST {path} was refused: {found.status} {found.body}")
        return found.body

    def read(self, path: str) -> Answer:
        found = self.ask("GET", path)
        if found.status != 200:
            raise NeverAnswered(f"GET {path} was refused: {found.status} {found.body}")
        return found


@dataclass(frozen=True)
class Scene:
    """What the programs find in the studio: ids."""

    clients: list[str]
    shared: list[str]  # clients that everybody edits
    garments: list[str]
    cloth: str
    pattern: str
    size: str


class Program(threading.Thread):
    """Does acts at random until it is told to stop; finishes the act in hand."""

    WEIGHTS = {"measure": 8, "edit": 8, "ticket": 4, "report": 3, "lay": 1, "import": 1}

    days = count()  # imports never tell of the same day twice

    def __init__(
        self, name: str, caller: Caller, scene: Scene, random: Random, until: threading.Event, pause: float
    ):
        super().__init__(name=name, daemon=True)
        self.caller, self.scene, self.random, self.until, self.pause = caller, scene, random, until, pause
        self.ledger = caller.ledger

    def run(self) -> None:
        number = 0
        while not self.until.is_set():
            kind = self.random.choices(list(self.WEIGHTS), list(self.WEIGHTS.values()))[0]
            number += 1
            try:
                getattr(self, kind.replace("import", "bring_in"))(f"{self.name}-{number}")
            except NeverAnswered as exc:
                self.ledger.troubles.append(f"{kind}: {exc}")
            except Exception as exc:  # whatever it is must stand in the table, not die with the thread
                self.ledger.troubles.append(f"{kind}: {type(exc).__name__} {exc}")
            self.until.wait(self.random.uniform(0, 2 * self.pause))

    def measure(self, tag: str) -> None:
        client = self.random.choice(self.scene.clients)
        readings = [
            {"measure": measure, "typed": str(figure + self.random.randint(-2, 2))}
            for measure, figure in FIGURES.items()
        ]
        given = {
            "client": client,
            "measured_at": datetime.now(UTC).isoformat(),
            "readings": readings,
            "notes": tag,
        }
        found = self.caller.made("measurings/", given)
        self.ledger.keep("measuring", tag, id=found["id"], readings=len(readings))

    def edit(self, tag: str) -> None:
        path = f"clients/{self.random.choice(self.scene.shared)}/"
        end = time.monotonic() + PATIENCE_SECONDS
        while time.monotonic() < end:
            seen = self.caller.read(path)
            headers = {"Content-Type": "application/json", "If-Match": seen.headers["ETag"]}
            found = self.caller.once("PATCH", "/api/v1/" + path, json.dumps({"notes": tag}).encode(), headers)
            if found is None:
                # Written or not? Whoever edits looks again before she does anything.
                now = self.caller.read(path)
                if now.body["notes"] == tag:
                    found = now
                    break
                if now.headers["ETag"] != seen.headers["ETag"]:
                    self.ledger.perhaps.add(tag)
                    return
                self.ledger.count("asked again")
            elif found.status == 412:
                self.ledger.count("edits that had to look again")
            elif found.status == 200:
                break
            else:
                raise NeverAnswered(f"PATCH {path} was refused: {found.status} {found.body}")
        else:
            raise NeverAnswered(f"PATCH {path}")
        self.ledger.keep("edit", tag, id=path.split("/")[1], version=found.headers["ETag"])

    def ticket(self, tag: str) -> None:
        client = self.random.choice(self.scene.clients)
        jobs = [{"job": "press", "price_minor": 900}]
        found = self.caller.made(
            "tickets/", {"client": client, "words": tag, "kind": "trousers", "jobs": jobs}
        )
        ticket = found["ticket"]["id"]
        self.ledger.keep("ticket", tag, id=ticket)
        self.caller.made(f"tickets/{ticket}/payments/", {"minor": 900, "way": "cash", "note": tag})
        self.ledger.keep("payment", tag, ticket=ticket)
        slip = self.caller.made(f"tickets/{ticket}/slips/")
        self.ledger.keep("slip", tag, id=slip["id"])

    def report(self, tag: str) -> None:
        found = self.caller.made(f"garments/{self.random.choice(self.scene.garments)}/reports/")
        self.ledger.keep("report", tag, id=found["id"])

    def lay(self, tag: str) -> None:
        line = {"pattern_id": self.scene.pattern, "size_id": self.scene.size}
        given = {"cloth_id": self.scene.cloth, "name": tag, "seconds": 5, "lines": [line]}
        found = self.caller.made("lays/", given)
        self.ledger.keep("lay", tag, id=found["id"])

    def bring_in(self, tag: str) -> None:
        """Upload, check, take over; a job that failed is tried again, as a person would."""
        client = self.random.choice(self.scene.clients)
        day = date(2010, 1, 1) + timedelta(days=next(self.days))
        rows = [f"{client},{day},{measure},{figure},cm,1" for measure, figure in FIGURES.items()]
        table = "\n".join(["Client id,Date,Measure,Value,Unit,Take", *rows])
        edge = uuid4().hex
        body = (
            f'--{edge}\r\nContent-Disposition: form-data; name="file"; filename="{tag}.csv"\r\n'
            f"Content-Type: text/csv\r\n\r\n{table}\r\n--{edge}--\r\n"
        ).encode()
        found = self.caller.made(
            "reading-imports/", body=body, Content_Type=f"multipart/form-data; boundary={edge}"
        )
        path = f"reading-imports/{found['id']}/"
        for act, state in (("check", "checked"), ("take-over", "taken_over")):
            self.caller.made(path + act + "/")
            now = self._ended(path)
            if now["state"] != state:
                raise NeverAnswered(
                    f"{path}{act}/ ended as {now['state']}: {now['job']}, {now['problem_count']}"
                )
        self.ledger.keep("import", tag, id=found["id"], readings=len(rows))

    def _ended(self, path: str) -> Any:
        end = time.monotonic() + PATIENCE_SECONDS
        while time.monotonic() < end:
            now = self.caller.read(path).body
            state = now["job"]["state"]
            if state == "failed":
                self.ledger.count("jobs tried again by hand")
                self.caller.ask("POST", f"jobs/{now['job']['id']}/retry/", {})
            elif state in ("done", "cancelled"):
                return now
            time.sleep(0.5)
        raise NeverAnswered(f"{path}: its job did not end")


class Reader(threading.Thread):
    """A signed-in browser that looks at pages: its session must outlive every kill."""

    PAGES = ("/", "/clients/", "/tickets/", "/bench/", "/past-fits/?words=skirt", "/lays/")

    def __init__(
        self, address: str, email: str, password: str, ledger: Ledger, until: threading.Event
    ) -> None:
        super().__init__(name="browser", daemon=True)
        self.address, self.ledger, self.until = address, ledger, until
        self.email, self.password = email, password
        self.cookies: dict[str, str] = {}

    def _get(self, method: str, path: str, form: dict[str, str] | None = None) -> tuple[int, str]:
        connection = http.client.HTTPConnection(self.address, timeout=30)
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        if form is not None:
            headers |= {
                "Content-Type": "application/x-www-form-urlencoded",
                "Referer": f"http://{self.address}/",
            }
        try:
            connection.request(method, path, urlencode(form) if form is not None else None, headers)
            found = connection.getresponse()
            found.read()
            for line in found.headers.get_all("Set-Cookie") or []:
                name, _, value = line.split(";", 1)[0].partition("=")
                self.cookies[name] = value
            return found.status, found.headers.get("Location", "")
        except (OSError, http.client.HTTPException):
            return 599, ""
        finally:
            connection.close()

    def _sign_in(self) -> int:
        self._get("GET", "/sign-in/")
        token = self.cookies.get("csrftoken", "")
        form = {"email": self.email, "password": self.password, "csrfmiddlewaretoken": token}
        return self._get("POST", "/sign-in/", form)[0]

    def run(self) -> None:
        while self._sign_in() != 302:  # nobody answers while the pages are down
            if self.until.wait(1.0):
                return
        number = 0
        while not self.until.wait(1.0):
            number += 1
            status, to = self._get("GET", self.PAGES[number % len(self.PAGES)])
            if status == 302 and "sign-in" in to:
                self.ledger.troubles.append("browser: it was signed out")
                return
            self.ledger.count("pages read" if status == 200 else f"pages {status}")
