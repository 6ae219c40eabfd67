"""One studio moves to another database: every row, compared; closed here; nothing happens by halves."""

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import psycopg
import pytest
from django.conf import settings
from django.core.files.storage import default_storage
from psycopg import sql

from studio.config import moving
from studio.config.moving import CannotMove, forget_studio, move_studio
from studio.platform.database.grants import tenant_models
from studio.platform.database.scope import StudioMoved, studio_scope
from studio.platform.jobs import run_job, sweep
from studio.platform.models import Job, User
from studio.platform.services.files import store_file
from studio.services.client_copy import ask_copy
from studio.services.clients import record_client
from tests.conftest import found_house, real_transactions
from tests.studio.helpers import measured

pytestmark = [real_transactions, pytest.mark.slow]
ROOT = Path(__file__).resolve().parents[2]
ADDRESS = "https://other.example/"


@pytest.fixture(scope="module")
def other(tmp_path_factory: Any, django_db_setup: Any) -> Iterator[str]:
    """The owner's address of a second database on the same server, prepared by the product's own command."""
    administrator = settings.DATABASE.administrator
    if administrator is None:
        pytest.skip("The roles are ready-made: nobody here may make a database.")
    name = f"{administrator.name}_other"
    elsewhere = tmp_path_factory.mktemp("other")
    host = f"/{name}?host={administrator.host}&port={administrator.port}"
    login = f"{administrator.user}:{administrator.password}" if administrator.password else administrator.user
    environment = {
        **{key: value for key, value in os.environ.items() if not key.startswith("DATABASE_")},
        "DJANGO_SETTINGS_MODULE": "studio.config.settings",
        "DATABASE_URL": f"postgresql://{login}@{host}",
        "STUDIO_DATA": str(elsewhere),
    }
    subprocess.run(
        [sys.executable, "manage.py", "prepare"],
        cwd=ROOT,
        env=environment,
        check=True,
        capture_output=True,
        timeout=240,
    )
    password = settings.DATABASE.logins["owner"].password  # derived from the same secret
    yield administrator.as_database(name).as_user(f"{name}_owner", password).conninfo()
    with psycopg.connect(administrator.as_database("postgres").conninfo(), autocommit=True) as admin:
        admin.execute(sql.SQL("drop database {} with (force)").format(sql.Identifier(name)))


@pytest.fixture
def there(other: str) -> Iterator[str]:
    yield other
    with psycopg.connect(other) as connection:
        tables = [model._meta.db_table for model in tenant_models()] + ["platform_user"]
        connection.execute(
            sql.SQL("truncate {} cascade").format(sql.SQL(", ").join(map(sql.Identifier, tables)))
        )


@pytest.fixture
def house(transactional_db: Any) -> Any:
    house = found_house("Thimble Row")
    with house.scope():
        client = record_client(house.instructor, name="Leocadia Marchetti", consent_by="Leocadia Marchetti")
        measured(house.instructor, client)
        store_file(b"%PDF a page", name="report.pdf", media_type="application/pdf", client_id=client.pk)
        ask_copy(house.owner, client.pk)
    return house


def move(house: Any, to: str, **options: Any) -> moving.Moved:
    given = {"files": None, "wait_seconds": 20.0, "say": lambda words: None, **options}
    return move_studio(house.studio_id, to, ADDRESS, **given)


def rows_there(to: str, studio_id: Any) -> dict[str, int]:
    counts = {}
    with psycopg.connect(to) as connection:
        connection.execute("select set_config('app.studio', %s, true)", [str(studio_id)])
        for model in tenant_models():
            table = model._meta.db_table
            column = "id" if table == "platform_studio" else "studio_id"
            counts[table] = connection.execute(
                f'select count(*) from "{table}" where {column} = %s', [studio_id]
            ).fetchone()[0]
    return {table: count for table, count in counts.items() if count}


def rows_here(house: Any) -> dict[str, int]:
    with house.scope():
        counts = {model._meta.db_table: model.objects.count() for model in tenant_models()}
    return {table: count for table, count in counts.items() if count}


def test_every_row_and_file_is_there_and_whoever_comes_here_is_sent_on(
    house: Any, there: str, tmp_path: Path, page: Any, api: Any
) -> None:
    browser, program = page(house.owner), api(house.owner)
    before = rows_here(house)
    done = move(house, there, files=tmp_path)
    assert rows_there(there, house.studio_id) == before
    assert (done.rows, done.people, done.files) == (sum(before.values()), 3, 1)
    assert [path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()] == [b"%PDF a page"]

    answer = browser.get("/clients/")
    assert (answer.status_code, ADDRESS in answer.content.decode()) == (410, True)
    problem = program.get("/api/v1/clients/")
    assert (problem.status_code, problem.json()["type"].rsplit(":", 1)[1]) == (410, "moved")
    with pytest.raises(StudioMoved), house.scope():
        pass
    assert sweep(lambda *_: True) == 0, "its jobs went along and are rung for there"
    assert run_job(house.studio_id, house.studio_id) == "moved"

    with pytest.raises(CannotMove, match="holds this studio already"):
        move(house, there)


def test_another_studio_stays_at_home_and_notices_nothing(house: Any, there: str, page: Any) -> None:
    neighbour = found_house("Bobbin Lane")
    with neighbour.scope():
        record_client(neighbour.instructor, name="Olia Duarte", consent_by="Olia Duarte")
    before = rows_here(neighbour)
    move(house, there)
    forget_studio(house.studio_id, there, delete_files=False)
    assert rows_here(neighbour) == before
    assert page(neighbour.owner).get("/clients/").status_code == 200
    assert rows_there(there, neighbour.studio_id) == {}


def test_a_move_that_fails_leaves_both_sides_as_they_were(
    house: Any, there: str, tmp_path: Path, monkeypatch: Any
) -> None:
    before = rows_here(house)

    def dies(*_: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(moving, "_same", dies)
    with pytest.raises(KeyboardInterrupt):
        move(house, there)
    monkeypatch.undo()
    assert rows_here(house) == before
    assert rows_there(there, house.studio_id) == {}
    monkeypatch.setattr(moving, "_keys", lambda connection, studio: [(_key(house), "0" * 64)])
    with pytest.raises(CannotMove, match="SHA-256 differs"):
        move(house, there, files=tmp_path)
    assert rows_there(there, house.studio_id) == {}
    assert not [path for path in tmp_path.rglob("*") if path.is_file()]
    monkeypatch.undo()
    move(house, there, files=tmp_path)


def _key(house: Any) -> str:
    from studio.platform.models import StoredFile

    with psycopg.connect(settings.DATABASE.logins["backup"].conninfo()) as connection:
        return connection.execute(f"select key from {StoredFile._meta.db_table}").fetchone()[0]


def test_what_is_under_way_is_waited_for_and_goes_along_or_nothing_moves(house: Any, there: str) -> None:
    app = settings.DATABASE.logins["app"].conninfo()
    with psycopg.connect(app) as writer:
        writer.execute("select 1")  # a request that has read already and is about to write
        with pytest.raises(CannotMove, match="still under way"):
            move(house, there, wait_seconds=0.5)
        assert rows_there(there, house.studio_id) == {}
        with house.scope():
            before = Job.objects.count()  # open again

        def then_end(words: str) -> None:
            if words.startswith("Waiting") and not writer.closed:
                writer.execute("select set_config('app.studio', %s, true)", [str(house.studio_id)])
                writer.execute("update platform_job set progress = 7")
                writer.commit()
                writer.close()

        move(house, there, say=then_end)
    with psycopg.connect(there) as connection:
        connection.execute("select set_config('app.studio', %s, true)", [str(house.studio_id)])
        assert connection.execute("select progress from platform_job").fetchall() == [(7,)] * before


def test_an_account_that_is_known_there_by_its_email_is_used(house: Any, there: str) -> None:
    known = User.objects.get(pk=house.owner.user_id)
    with psycopg.connect(there) as connection:
        [columns] = [[field.column for field in User._meta.concrete_fields]]
        copied = {field.column: field.value_from_object(known) for field in User._meta.concrete_fields}
        copied["id"] = house.studio_id  # any other id
        connection.execute(
            sql.SQL("insert into platform_user ({}) values ({})").format(
                sql.SQL(", ").join(map(sql.Identifier, columns)),
                sql.SQL(", ").join(sql.Placeholder(name) for name in columns),
            ),
            copied,
        )
    done = move(house, there)
    assert done.people == 2
    with psycopg.connect(there) as connection:
        connection.execute("select set_config('app.studio', %s, true)", [str(house.studio_id)])
        users = connection.execute(
            "select user_id from platform_member where id = %s", [house.owner.member_id]
        ).fetchall()
    assert users == [(house.studio_id,)]


def test_what_was_moved_is_deleted_here_on_request_alone(house: Any, there: str, tmp_path: Path) -> None:
    with pytest.raises(CannotMove, match="has not moved"):
        forget_studio(house.studio_id, there, delete_files=True)
    key = _key(house)
    move(house, there, files=tmp_path)
    gone = forget_studio(house.studio_id, there, delete_files=True)
    assert gone == sum(rows_there(there, house.studio_id).values()) - 1, "the signpost stays"
    assert not default_storage.exists(key)
    assert (tmp_path / key).exists()
    with pytest.raises(StudioMoved), studio_scope(house.studio_id):
        pass
    from studio.platform.checks import role_problems

    assert role_problems() == [], "the policies are forced again"
