"""Signing in as people do: a code of an app, a passkey of Chromium's own virtual authenticator, signing out elsewhere.

Browsers keep passkeys for names alone, so the pages are opened at localhost.
"""

import re
from typing import Any

import pyotp
import pytest
from playwright.sync_api import Page, expect

from studio.platform.models import Passkey
from tests.conftest import PASSWORD, found_house, real_transactions
from tests.journeys.conftest import TABLET, Visitor, Watch, sign_in
from tests.journeys.pages import look
from tests.journeys.people import press, write

pytestmark = [pytest.mark.browser, pytest.mark.slow, real_transactions]

OWNER = "owner@thimblerow.example"


@pytest.fixture
def thimble_row(transactional_db: None) -> Any:
    return found_house("Thimble Row")


def with_authenticator(page: Page) -> None:
    """A device of its own that asks for a finger and gets it."""
    devices = page.context.new_cdp_session(page)
    devices.send("WebAuthn.enable")
    devices.send(
        "WebAuthn.addVirtualAuthenticator",
        {
            "options": {
                "protocol": "ctap2",
                "transport": "internal",
                "hasResidentKey": True,
                "hasUserVerification": True,
                "isUserVerified": True,
                "automaticPresenceSimulation": True,
            }
        },
    )


def password(page: Page) -> None:
    page.goto("/sign-in/")
    write(page, "Email", OWNER)
    write(page, "Password", PASSWORD)
    press(page, "Sign in")


def sign_out(page: Page) -> None:
    page.locator(".member summary").click()
    press(page, "Sign out")


def test_a_code_of_an_app(thimble_row: Any, visitor: Visitor, watch: Watch) -> None:
    page = visitor(TABLET)
    sign_in(page, OWNER, PASSWORD)
    page.goto("/account/")
    amiss = look(page)
    press(page, "Add an app")
    secret = re.sub(r"\s", "", page.locator("code").inner_text())
    box = page.locator(".figure.qr svg").bounding_box()
    assert box is not None
    assert box["width"] > 150, "a square that a telephone can read"
    amiss += look(page)
    app = pyotp.TOTP(secret)
    watch.expect("/account/codes/", 400)
    write(page, "Code that the app shows", "123")
    press(page, "Switch it on")
    expect(page.get_by_text("This code is not right")).to_be_visible()
    write(page, "Code that the app shows", app.now())
    press(page, "Switch it on")
    expect(page.get_by_role("heading", name="Recovery codes")).to_be_visible()
    amiss += look(page)
    recovery = page.locator(".codes code").first.inner_text()
    press(page, "I have written them down")
    amiss += look(page)
    sign_out(page)

    password(page)
    expect(page.get_by_role("heading", name="One more step")).to_be_visible()
    amiss += look(page)
    page.goto("/clients/")
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    password(page)
    watch.expect("/sign-in/second/", 400)
    write(page, "Code", "000000")
    press(page, "Go on")
    expect(page.get_by_text("was used already")).to_be_visible()
    write(page, "Code", recovery)
    press(page, "Go on")
    expect(page.get_by_text("9 left")).to_be_visible()
    assert not amiss, "\n".join(amiss)


def test_a_passkey(thimble_row: Any, visitor: Visitor, served: str) -> None:
    at = served.replace("127.0.0.1", "localhost")
    page = visitor(TABLET)
    with_authenticator(page)
    page.goto(f"{at}/sign-in/")
    amiss = look(page)
    write(page, "Email", OWNER)
    write(page, "Password", PASSWORD)
    press(page, "Sign in")
    page.goto(f"{at}/account/passkeys/")
    amiss += look(page)
    write(page, "Name of the device", "telephone")
    press(page, "Make the passkey")
    expect(page.get_by_role("heading", name="Recovery codes")).to_be_visible()
    press(page, "I have written them down")
    expect(page.get_by_role("term").filter(has_text="telephone")).to_be_visible()
    sign_out(page)

    press(page, "Sign in with a passkey")
    expect(page.get_by_role("heading", name="Today")).to_be_visible()
    sign_out(page)
    write(page, "Email", OWNER)
    write(page, "Password", PASSWORD)
    press(page, "Sign in")
    press(page, "Use your passkey")
    expect(page.get_by_role("heading", name="Today")).to_be_visible()
    row = Passkey.objects.get()
    assert row.used_at is not None
    assert not amiss, "\n".join(amiss)


def test_signing_out_everywhere_else(thimble_row: Any, visitor: Visitor) -> None:
    here, there = visitor(TABLET), visitor(TABLET)
    for page in (here, there):
        sign_in(page, OWNER, PASSWORD)
    here.goto("/account/")
    expect(here.get_by_text("this one", exact=True)).to_be_visible()
    press(here, "Sign out everywhere else")
    expect(here.get_by_text("Signed out in 1 other browser.")).to_be_visible()
    there.goto("/clients/")
    expect(there.get_by_role("heading", name="Sign in")).to_be_visible()
    here.goto("/clients/")
    expect(here.get_by_role("heading", name="Clients")).to_be_visible()
