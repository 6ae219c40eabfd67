"""What the process is told by its surroundings, and the sentence where it can't be used."""

from pathlib import Path

import pytest

from studio.config import environment
from studio.config.database import places
from studio.config.environment import BadEnvironment
from studio.config.secrets import derived, installation_secret


def test_a_database_address_is_read_with_socket_and_options():
    found = environment.database_address(
        {"X": "postgresql://ann:p%40ss@/studio?host=/run/pg&port=5433&sslmode=require"}, "X"
    )
    assert (found.host, found.port, found.name, found.user, found.password) == (
        "/run/pg",
        5433,
        "studio",
        "ann",
        "p@ss",
    )
    assert found.options == (("sslmode", "require"),)
    assert "host=/run/pg" in found.conninfo()


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ("mysql://a@b/c", "must begin with postgresql://"),
        ("postgresql://a@b", "names no database"),
        ("postgresql://b/c", "names no user"),
        ("postgresql://a@b:notaport/c", "not a number"),
    ],
)
def test_a_bad_address_is_refused_in_a_sentence(value, words):
    with pytest.raises(BadEnvironment, match=words):
        environment.database_address({"DATABASE_URL": value}, "DATABASE_URL")


@pytest.mark.parametrize(("raw", "value"), [("yes", True), ("0", False), ("", False), ("ON", True)])
def test_flags(raw, value):
    assert environment.flag({"X": raw}, "X", default=not value) is value


def test_a_flag_that_is_neither_is_refused():
    with pytest.raises(BadEnvironment, match="X is 'maybe'"):
        environment.flag({"X": "maybe"}, "X")


@pytest.mark.parametrize("raw", ["12x", "0", "999"])
def test_numbers_out_of_range_are_refused(raw):
    with pytest.raises(BadEnvironment, match="from 1 to 200"):
        environment.whole({"X": raw}, "X", 8, low=1, high=200)


def test_nothing_given_means_the_embedded_server(tmp_path):
    found = places({}, tmp_path, "secret")
    assert found.embedded == tmp_path / "postgres"
    assert found.logins["app"].user == "studio_app"
    assert found.logins["app"].password == derived("secret", "database role app")


def test_one_address_is_an_administrator_s_and_never_serves(tmp_path):
    found = places({"DATABASE_URL": "postgresql://root@h/shop"}, tmp_path, "secret")
    assert found.embedded is None
    assert {login.user for login in found.logins.values()} == {
        "shop_owner",
        "shop_app",
        "shop_queue",
        "shop_backup",
    }


def test_two_addresses_are_ready_made_roles(tmp_path):
    found = places(
        {"DATABASE_URL": "postgresql://a:x@h/shop", "DATABASE_OWNER_URL": "postgresql://o:y@h/shop"},
        tmp_path,
        "s",
    )
    assert found.administrator is None
    assert (found.roles["app"], found.roles["owner"], found.roles["door"]) == ("a", "o", "shop_door")


def test_an_owner_without_an_app_role_is_refused(tmp_path):
    with pytest.raises(BadEnvironment, match="set both"):
        places({"DATABASE_OWNER_URL": "postgresql://o@h/shop"}, tmp_path, "s")


def test_a_data_folder_too_long_for_a_socket_is_refused():
    with pytest.raises(BadEnvironment, match="too long a path"):
        places({}, Path("/" + "x" * 120), "s")


def test_the_secret_is_made_once_and_readable_by_its_owner_alone(tmp_path):
    first = installation_secret(tmp_path)
    assert installation_secret(tmp_path) == first
    assert len(first) >= 50
    assert (tmp_path / "secret").stat().st_mode & 0o077 == 0


def test_the_demo_has_a_place_of_its_own():
    env = {"DATABASE_URL": "postgresql://root@h/shop?sslmode=require"}
    environment.demo_apart(env)
    assert env["DATABASE_URL"] == "postgresql://root@h/shop_demo?sslmode=require"
    assert env["STUDIO_DATA"].endswith(".data/demo")
    environment.demo_apart(env)
    assert env["DATABASE_URL"] == "postgresql://root@h/shop_demo?sslmode=require"


def test_a_broker_that_is_none_is_refused():
    with pytest.raises(BadEnvironment, match="CELERY_BROKER_URL"):
        environment.broker_url({"CELERY_BROKER_URL": "bogus"}, "CELERY_BROKER_URL")


def test_folders_above_the_data_are_passed_through_and_never_listed(tmp_path):
    from studio.config.embedded import _let_pass

    private = tmp_path / "private"
    (private / "data" / "postgres").mkdir(parents=True)
    private.chmod(0o700)
    (private / "data").chmod(0o750)
    _let_pass(private / "data" / "postgres")
    assert private.stat().st_mode & 0o777 == 0o701
    assert (private / "data").stat().st_mode & 0o777 == 0o751


def test_tracebacks_in_the_log_hold_no_values():
    """A traceback with local variables would hold names, figures of a body and passwords."""
    import subprocess
    import sys

    code = """
import django, logging, os
os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
django.setup()
import structlog
def sign_in():
    password = "a needle in " + "the hay"
    raise RuntimeError("wrong")
try:
    sign_in()
except RuntimeError:
    structlog.get_logger("studio").exception("failed")
    logging.getLogger("django.request").exception("failed too")
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "RuntimeError: wrong" in done.stderr
    assert "a needle in the hay" not in done.stderr + done.stdout
