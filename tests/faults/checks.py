"""What was acknowledged against what is there: each act once, each job ended, no file without its row."""

import hashlib
import json
import os
import time
from collections import Counter
from dataclasses import dataclass, field
from typing import Any

import psycopg
from django.conf import settings
from psycopg.rows import dict_row

from tests.faults.programs import Ledger

# Tables in which programs make rows, with the act that the audit must name once for each.
MADE = {
    "studio_measuring": "record_measuring",
    "fitting_ticket": "take_in",
    "fitting_ticketpayment": "pay",
    "fitting_ticketslip": "ask_slip",
    "fitting_fitreport": "ask_report",
    "fitting_issuedreport": "issue_report",
    "fitting_layplan": "ask_lay",
    "studio_readingimport": "upload_readings",
}
OPEN = "select count(*) as n from platform_job where state in ('waiting', 'working')"


@dataclass
class Findings:
    lost: list[str] = field(default_factory=list)
    doubled: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)

    @property
    def clean(self) -> bool:
        return not (self.lost or self.doubled or self.wrong)


def connected() -> psycopg.Connection[dict[str, Any]]:
    """As the role that reads past the policies."""
    return psycopg.connect(
        settings.DATABASE.logins["backup"].conninfo(), row_factory=dict_row, autocommit=True
    )


def ids_before() -> dict[str, set[str]]:
    with connected() as reader:
        return {
            table: {str(row["id"]) for row in reader.execute(f"select id from {table}")}
            for table in [*MADE, "platform_job", "platform_auditentry"]
        }


def wait_until_quiet(reader: psycopg.Connection[dict[str, Any]], seconds: float) -> bool:
    """True once no job waits or works."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        found = reader.execute(OPEN).fetchone()
        if found and found["n"] == 0:
            return True
        time.sleep(0.5)
    return False


def failed_jobs(reader: psycopg.Connection[dict[str, Any]]) -> list[dict[str, Any]]:
    return reader.execute(
        "select id, kind, error, attempts from platform_job where state = 'failed'"
    ).fetchall()


def messages() -> int:
    """How many messages lie in the broker's queues, whether or not a (killed) worker has fetched them."""
    with psycopg.connect(settings.DATABASE.logins["queue"].conninfo()) as queue:
        names = [row[0] for row in queue.execute("select queue_name from pgmq.meta")]
        return sum(queue.execute(f'select count(*) from pgmq."q_{name}"').fetchone()[0] for name in names)


def an_hour_passes() -> None:
    """Messages that a killed worker had fetched are handed out again after an hour: let it be now."""
    with psycopg.connect(settings.DATABASE.logins["queue"].conninfo()) as queue:
        for (name,) in queue.execute("select queue_name from pgmq.meta").fetchall():
            queue.execute(f'update pgmq."q_{name}" set vt = now() where vt > now()')


def _once(findings: Findings, what: str, expected: Counter[str] | set[str], found: Counter[str]) -> None:
    """Each expected exactly once, and nothing else."""
    for name in expected:
        if found[name] == 0:
            findings.lost.append(f"{what} {name}")
    for name, times in found.items():
        if times > 1:
            findings.doubled.append(f"{what} {name} is there {times} times")
        elif name not in expected:
            findings.doubled.append(f"{what} {name} is there and was never acknowledged")


def look(ledger: Ledger, before: dict[str, set[str]]) -> Findings:
    """Compare; every program has ended and every job as well."""
    found = Findings()
    with connected() as reader:

        def column(query: str, *given: Any) -> Counter[str]:
            return Counter(str(row["v"]) for row in reader.execute(query, list(given)))

        def fresh(table: str, value: str = "id") -> Counter[str]:
            return column(
                f"select {value} as v from {table} where not id = any(%s::uuid[])", sorted(before[table])
            )

        _measurings(found, ledger, reader, fresh)
        for kind, table in (("ticket", "fitting_ticket"), ("slip", "fitting_ticketslip"),
                            ("report", "fitting_fitreport"), ("lay", "fitting_layplan")):  # fmt: skip
            _once(found, kind, {facts["id"] for facts in ledger.of(kind).values()}, fresh(table))
        _once(found, "payment", set(ledger.of("payment")), fresh("fitting_ticketpayment", "note"))
        _once(found, "lay named", set(ledger.of("lay")), fresh("fitting_layplan", "name"))
        _reports(found, ledger, reader)
        _lays(found, ledger, reader)
        _edits(found, ledger, reader)
        for table, act in MADE.items():
            rows = fresh(table)
            acts = column(
                "select object_id as v from platform_auditentry where act = %s and object_id = any(%s::uuid[])",
                act, list(rows),
            )  # fmt: skip
            if table == "studio_measuring":  # those that an import brought have one entry together
                rows = Counter(facts["id"] for facts in ledger.of("measuring").values())
            _once(found, f"audit entry {act} of", rows, acts)
        for row in reader.execute(
            "select id, kind, state, attempts, attempts_allowed from platform_job "
            "where state not in ('done', 'cancelled') or attempts > attempts_allowed"
        ):
            found.wrong.append(
                f"job {row['id']} ({row['kind']}) is {row['state']} after {row['attempts']} attempts"
            )
        _files(found, reader)
    return found


def _measurings(found: Findings, ledger: Ledger, reader: Any, fresh: Any) -> None:
    taken, brought = ledger.of("measuring"), ledger.of("import")
    _once(
        found,
        "measuring",
        set(taken),
        Counter({k: n for k, n in fresh("studio_measuring", "notes").items() if k}),
    )
    imports = {facts["id"] for facts in brought.values()}
    _once(found, "import", imports, fresh("studio_readingimport"))
    alone = fresh("studio_measuring", "notes")[""]
    if alone != len(brought):
        (found.lost if alone < len(brought) else found.doubled).append(
            f"{len(brought)} imports brought {alone} measurings"
        )
    for row in reader.execute(
        "select m.id, m.notes, count(r.id) as n from studio_measuring m left join studio_reading r "
        "on r.measuring_id = m.id where m.notes = any(%s) group by m.id",
        [list(taken)],
    ):
        if row["n"] != taken[row["notes"]]["readings"]:
            found.wrong.append(f"measuring {row['notes']} has {row['n']} readings")
    for row in reader.execute(
        "select object_id, count(*) as n from platform_auditentry where act = 'take_over_readings' "
        "and object_id = any(%s::uuid[]) group by object_id having count(*) <> 1",
        [list(imports)],
    ):
        found.doubled.append(f"import {row['object_id']} was taken over {row['n']} times")


def _reports(found: Findings, ledger: Ledger, reader: Any) -> None:
    """Each is issued once, with the bytes that its SHA-256 names, and the numbers of a garment have no gap."""
    asked = {facts["id"] for facts in ledger.of("report").values()}
    issued = reader.execute(
        "select i.report_id, i.sha256, f.key from fitting_issuedreport i "
        "join platform_storedfile f on f.id = i.file_id where i.report_id = any(%s::uuid[])",
        [list(asked)],
    ).fetchall()
    _once(found, "issued report", asked, Counter(str(row["report_id"]) for row in issued))
    slips = {facts["id"] for facts in ledger.of("slip").values()}
    printed = reader.execute(
        "select s.id, s.sha256, f.key from fitting_ticketslip s join platform_storedfile f on f.id = s.file_id "
        "where s.id = any(%s::uuid[])",
        [list(slips)],
    ).fetchall()
    _once(found, "printed slip", slips, Counter(str(row["id"]) for row in printed))
    for row in [*issued, *printed]:
        path = settings.FILES_DIR / row["key"]
        if not path.exists() or hashlib.sha256(path.read_bytes()).hexdigest() != row["sha256"]:
            found.lost.append(f"the bytes of {row['key']}")
    for row in reader.execute(
        "select garment_id, count(*) as n, max(number) as last from fitting_fitreport group by garment_id "
        "having count(*) <> max(number)"
    ):
        found.wrong.append(
            f"garment {row['garment_id']} has {row['n']} reports, the last is number {row['last']}"
        )


def _lays(found: Findings, ledger: Ledger, reader: Any) -> None:
    """Two drawings at once and two by the search, whoever was killed meanwhile."""
    for row in reader.execute(
        "select l.id, l.name, count(d.id) as n from fitting_layplan l "
        "left join fitting_laydrawing d on d.lay_id = l.id where l.name = any(%s) "
        "group by l.id having count(d.id) <> 4",
        [list(ledger.of("lay"))],
    ):
        (found.lost if row["n"] < 4 else found.doubled).append(f"lay {row['name']} has {row['n']} drawings")


def _edits(found: Findings, ledger: Ledger, reader: Any) -> None:
    """Each version of a client is one acknowledged edit (or one whose answer was lost): nobody wrote over another."""
    by_client: dict[str, Counter[str]] = {}
    for facts in ledger.of("edit").values():
        by_client.setdefault(facts["id"], Counter())[facts["version"]] += 1
    unsure = len(ledger.perhaps)
    for client, versions in by_client.items():
        row = reader.execute(
            "select version, notes, (select count(*) from platform_auditentry where act = 'change_client' "
            "and object_id = c.id) as acts from studio_client c where id = %s",
            [client],
        ).fetchone()
        for version, times in versions.items():
            if times > 1:
                found.lost.append(f"{times} edits of client {client} were told version {version}")
        if row["acts"] != row["version"] - 1:
            found.wrong.append(f"client {client} is at version {row['version']} after {row['acts']} acts")
        missing = row["version"] - 1 - versions.total()
        if not 0 <= missing <= unsure:
            found.lost.append(f"client {client}: {versions.total()} edits told, version {row['version']}")
        unsure -= max(0, missing)


def _files(found: Findings, reader: Any) -> None:
    """A day later the hourly tidying leaves exactly the files that rows name; rows of taken imports keep no bytes."""
    from studio.platform.services.tidy import tidy

    long_ago = time.time() - 3 * 86400
    paths = [path for path in settings.FILES_DIR.rglob("*") if path.is_file()]
    for path in paths:
        os.utime(path, (long_ago, long_ago))
    tidy()
    there = {
        str(path.relative_to(settings.FILES_DIR)) for path in settings.FILES_DIR.rglob("*") if path.is_file()
    }
    rows = {row["key"] for row in reader.execute("select key from platform_storedfile")}
    dropped = {
        row["key"]
        for row in reader.execute(
            "select f.key from studio_readingimport i join platform_storedfile f on f.id = i.file_id "
            "where i.state = 'taken_over'"
        )
    }
    found.wrong += [f"orphan file {key}" for key in sorted(there - rows)]
    found.lost += [f"file {key}" for key in sorted(rows - dropped - there)]


def as_json(findings: Findings) -> str:
    return json.dumps({"lost": findings.lost, "doubled": findings.doubled, "wrong": findings.wrong})
