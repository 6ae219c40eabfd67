"""Saving a measuring of 30 readings through the API, beside bare inserts into the same tables as the same role.

The floor is one transaction with the studio set, the measuring and its readings in one statement each, under the same
keys, checks and policies. The API's request also finds who asks, checks consent and ranges, keeps its answer for a
request that is sent twice, and writes down the act.
"""

from datetime import UTC, datetime, timedelta
from typing import Any

import psycopg

from tests.bench.measured import Row, in_turns, ms, tell

READINGS = 30


def rows(house: Any, client_id: Any, *, rounds: int) -> list[Row]:
    from django.conf import settings
    from django.db import connection
    from django.test.utils import CaptureQueriesContext
    from rest_framework.test import APIClient

    from studio.platform.models.base import new_id
    from studio.platform.services.people import make_token
    from studio.queries.catalogue import catalogue
    from studio.services.taping import FIRST_AFTER

    taped = [found for found in catalogue().measures.values() if found.unit == "mm"][:READINGS]
    start = datetime(2026, 1, 5, 9, tzinfo=UTC)
    moments = (start + timedelta(minutes=7 * number) for number in range(10 * rounds + 10))
    with house.scope():
        _, secret = make_token(house.instructor, name="bench")
    api = APIClient(SERVER_NAME="127.0.0.1", HTTP_AUTHORIZATION=f"Bearer {secret}")

    def post(many: int = READINGS) -> None:
        answer = api.post(
            "/api/v1/measurings/",
            {
                "client": str(client_id),
                "measured_at": next(moments).isoformat(),
                "readings": [
                    {"measure": found.code, "typed": f"{sum(found.adult) / 20:.1f} cm"} for found in taped[:many]
                ],
            },
            format="json",
            HTTP_IDEMPOTENCY_KEY=str(new_id()),
        )  # fmt: skip
        if answer.status_code != 201:
            raise SystemExit(f"The API answered {answer.status_code}: {answer.content[:400]!r}")

    app = psycopg.connect(settings.DATABASE.logins["app"].conninfo(), autocommit=True)

    def insert() -> None:
        me, studio, measuring, at = house.instructor.member_id, house.studio_id, new_id(), next(moments)
        with app.transaction(), app.cursor() as cursor:
            cursor.execute("select set_config('app.studio', %s, true)", [str(studio)])
            cursor.execute(
                "insert into studio_measuring (id, studio_id, client_id, measured_at, measured_by_id, over, shoes, "
                "posture, tape, guardian_present, notes, recorded_at) "
                "values (%s, %s, %s, %s, %s, 'close_clothing', false, 'standing, relaxed', '', '', '', now())",
                [measuring, studio, client_id, at, me],
            )
            cursor.execute(
                "insert into studio_reading (id, studio_id, measuring_id, client_id, measure, take, value, typed, "
                "reason, kept_because, recorded_by_id, recorded_at) values "
                + ", ".join(["(%s, %s, %s, %s, %s, 1, %s, %s, '', '', %s, now())"] * len(taped)),
                [
                    value
                    for found in taped
                    for value in (
                        new_id(), studio, measuring, client_id, found.code, sum(found.adult) / 2, "1 cm", me,
                    )
                ],
            )  # fmt: skip

    for _ in range(
        FIRST_AFTER
    ):  # from then on each asks whether the habit is being learnt, whatever it holds
        post(3)
    counts = []
    for many in (3, READINGS):
        post(many)
        with CaptureQueriesContext(connection) as seen:
            post(many)
        counts.append(len(seen))
    insert()
    tell(f"saving: {rounds} measurings each")
    spent = in_turns(
        rounds,
        {"bare": insert, "api": post},
        {"api": connection.connection.info.backend_pid, "bare": app.info.backend_pid},
    )
    app.close()
    ours, floor = spent["api"], spent["bare"]
    return [
        Row(
            f"saving a measuring of {READINGS} readings through the API, {rounds} times; {counts[1]} queries "
            f"({counts[0]} for 3 readings)",
            f"median {ms(ours.median)}, p95 {ms(ours.p95)}, processor {ms(ours.processor_mean)}",
            f"bare inserts: median {ms(floor.median)}, p95 {ms(floor.p95)}, processor {ms(floor.processor_mean)}",
            f"median {ours.median / floor.median:.2f}, processor {ours.processor_mean / floor.processor_mean:.2f}",
            "within 3, constant queries",
        )
    ]
