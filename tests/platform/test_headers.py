"""What every answer carries: pages, errors, static files, documents, the API, even what is refused at the door."""

import pytest
from django.test import Client

CAREFUL = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
ADDRESSES = [
    ("/sign-in/", 200),
    ("/", 302),
    ("/account/", 302),
    ("/nothing-here/", 404),
    ("/?words=%00", 400),
    ("/begin/nothing/", 404),
    ("/fit/nothing:like:this/", 404),
    ("/forgotten/", 200),
    ("/health/live", 200),
    ("/pad/worker.js", None),
    ("/api/v1/me/", 401),
    ("/api/v1/nothing/", 404),
    ("/api/v1/openapi.yaml", 200),
    ("/static/platform/css/base.css", 200),
    ("/static/platform/icon.svg", 200),
    ("/static/nothing.css", 404),
]


@pytest.mark.parametrize(("address", "status"), ADDRESSES)
def test_every_answer_is_careful(db, client, address, status):
    answer = client.get(address)
    assert status in {None, answer.status_code}
    assert {name: answer.get(name) for name in CAREFUL} == CAREFUL
    policy = answer["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "base-uri 'none'" in policy
    assert "unsafe" not in policy
    assert "camera=()" in answer["Permissions-Policy"]
    assert answer["X-Request-Id"]


def test_a_failure_of_ours_is_careful_too(db, settings, monkeypatch):
    def fail(*_, **__):
        raise RuntimeError("on purpose")

    monkeypatch.setattr("studio.platform.web.sign_in_views.SignIn.get", fail)
    answer = Client(raise_request_exception=False).get("/sign-in/")
    assert answer.status_code == 500
    assert {name: answer.get(name) for name in CAREFUL} == CAREFUL
    assert b"on purpose" not in answer.content
    assert answer["Cache-Control"] == "private, no-store"


@pytest.mark.parametrize(
    "address", ["/", "/account/", "/tokens/", "/clients/", "/api/v1/me/", "/api/v1/clients/"]
)
def test_what_is_somebodys_stays_in_no_cache(house, page, address):
    answer = page(house.owner).get(address)
    assert answer.status_code == 200
    assert "no-store" in answer["Cache-Control"]


def test_the_password_s_own_pages_stay_in_no_cache(db, client):
    for address in ("/sign-in/", "/forgotten/"):
        assert "no-store" in client.get(address)["Cache-Control"]


def test_over_https_cookies_are_for_this_host_alone():
    """Read by a process of its own: settings are made once."""
    import os
    import subprocess
    import sys

    asked = (
        "import django; django.setup(); from django.conf import settings as s; "
        "print(s.SESSION_COOKIE_NAME, s.CSRF_COOKIE_NAME, s.SESSION_COOKIE_SECURE, s.CSRF_COOKIE_SECURE, "
        "s.SESSION_COOKIE_HTTPONLY, s.SESSION_COOKIE_SAMESITE, s.SESSION_COOKIE_PATH, s.SESSION_COOKIE_DOMAIN)"
    )
    told = subprocess.run(
        [sys.executable, "-c", asked],
        env={
            **os.environ,
            "PUBLIC_URL": "https://studio.example",
            "DJANGO_SETTINGS_MODULE": "tests.settings",
        },
        capture_output=True,
        text=True,
        check=True,
    )
    assert told.stdout.split() == [
        "__Host-sessionid", "__Host-csrftoken", "True", "True", "True", "Lax", "/", "None",
    ]  # fmt: skip
