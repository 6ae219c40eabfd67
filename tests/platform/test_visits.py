"""Where somebody is signed in, signing out elsewhere, and being asked once more before what can't be taken back."""

import re
import time
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone
from structlog.testing import capture_logs

from studio.platform.actors import PROVED_AT
from studio.platform.models import ApiToken, Member, Session, User
from studio.platform.services.sign_in import account_mark
from studio.platform.web.browsers import browser_words
from tests.conftest import PASSWORD
from tests.studio.helpers import a_client

OWNER = "owner@thimblerow.example"
FIREFOX = "Mozilla/5.0 (Windows NT 10.0; Win64; x64; rv:140.0) Gecko/20100101 Firefox/140.0"
IPAD = (
    "Mozilla/5.0 (iPad; CPU OS 18_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.5 Mobile/15E148 "
    "Safari/604.1"
)
CHROME = (
    "Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0 Safari/537.36"
)
EDGE = CHROME.replace("X11; Linux x86_64", "Windows NT 10.0; Win64; x64") + " Edg/140.0.0.0"


def signed_in(agent="", email=OWNER):
    browser = Client(HTTP_USER_AGENT=agent)
    assert browser.post("/sign-in/", {"email": email, "password": PASSWORD}).status_code == 302
    return browser


def open_house(browser):
    return browser.get("/").status_code == 200


def stale(browser):
    session = browser.session
    session[PROVED_AT] = int(time.time()) - 11 * 60
    session.save()
    return browser


@pytest.mark.parametrize(
    ("told", "words"),
    [
        (FIREFOX, "Firefox on Windows"),
        (IPAD, "Safari on an iPad"),
        (CHROME, "Chrome on Linux"),
        (EDGE, "Edge on Windows"),
        ("", "A browser"),
        ("<script>", "A browser"),
    ],
)
def test_browsers_in_plain_words(told, words):
    assert browser_words(told) == words


def test_the_list_shows_each_browser_and_one_is_signed_out_there(house):
    here, tablet = signed_in(FIREFOX), signed_in(IPAD)
    signed_in(CHROME, "clerk@thimblerow.example")
    shown = here.get("/account/").content.decode()
    assert "Firefox on Windows" in shown
    assert "Safari on an iPad" in shown
    assert "Chrome on Linux" not in shown, "somebody else's"
    assert not any(key in shown for key in Session.objects.values_list("session_key", flat=True))
    (mark,) = re.findall(r'name="end" value="(\w+)"', shown)
    here.post("/account/visits/", {"end": mark})
    assert not open_house(tablet)
    assert open_house(here)
    assert here.post("/account/visits/", {"end": mark}).status_code == 404


def test_nobody_signs_out_another_person(house):
    here, other = signed_in(), signed_in(email="clerk@thimblerow.example")
    signed_in(IPAD)
    (mark,) = re.findall(r'name="end" value="(\w+)"', here.get("/account/").content.decode())
    assert other.post("/account/visits/", {"end": mark}).status_code == 404


def test_signing_out_everywhere_else_and_everywhere(house):
    browsers = [signed_in() for _ in range(3)]
    browsers[0].post("/account/visits/", {"elsewhere": "yes"})
    assert [open_house(browser) for browser in browsers] == [True, False, False]
    answer = browsers[0].post("/account/visits/", {"everywhere": "yes"})
    assert answer["Clear-Site-Data"] == '"cache"'
    assert not open_house(browsers[0])
    assert not Session.objects.filter(user_id=house.owner.user_id).exists()


def test_a_visit_ends_when_nobody_was_seen_and_after_a_working_day(house, settings):
    browser = signed_in()
    rows = Session.objects.filter(user_id=house.owner.user_id)
    rows.update(seen_at=timezone.now() - timedelta(hours=3))
    assert open_house(browser)
    assert rows.get().seen_at > timezone.now() - timedelta(minutes=1)
    rows.update(seen_at=timezone.now() - timedelta(hours=4, minutes=1))
    assert not open_house(browser)
    browser = signed_in()
    session = browser.session
    session["began"] = int(time.time()) - settings.SESSION_COOKIE_AGE - 60
    session.save()  # however often it is saved, the end counts from the beginning
    assert not open_house(browser)


def test_looking_at_pages_writes_nothing_while_it_is_fresh(house, django_assert_max_num_queries):
    browser = signed_in()
    before = Session.objects.get(user_id=house.owner.user_id)
    browser.get("/tokens/")
    after = Session.objects.get(user_id=house.owner.user_id)
    assert (before.seen_at, before.session_data) == (after.seen_at, after.session_data)


def test_signing_in_changes_the_session_s_key(house):
    browser = Client()
    browser.post("/sign-in/passkey/")
    first = browser.session.session_key
    browser.post("/sign-in/", {"email": OWNER, "password": PASSWORD})
    assert browser.session.session_key != first
    assert not Session.objects.filter(session_key=first).exists()


# --- once more ---------------------------------------------------------------------------------------------------


def test_a_token_is_made_after_the_password_was_given_once_more(house):
    browser = stale(signed_in())
    asked = browser.post("/tokens/", {"name": "till", "days": "30"})
    assert b"Is it still you?" in asked.content
    assert asked["Cache-Control"] == "private, no-store"
    carried = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', asked.content.decode()))
    assert carried.pop("csrfmiddlewaretoken")
    assert carried == {"name": "till", "days": "30"}
    with house.scope():
        assert not ApiToken.objects.exists()
    wrong = browser.post("/tokens/", {**carried, "again_password": "wrong", "again_passkey": ""})
    assert wrong.status_code == 400
    assert b"not your password" in wrong.content
    made = browser.post("/tokens/", {**carried, "again_password": PASSWORD, "again_passkey": ""})
    assert b"Copy it now" in made.content
    with house.scope():
        assert ApiToken.objects.get().name == "till"
    assert b"Copy it now" in browser.post("/tokens/", {"name": "second"}).content, "not asked twice"


def dangerous(house):
    clerk = house.clerk.member_id
    return [
        ("/members/", {"name": "T", "email": "t@example.org", "role": "clerk"}),
        (f"/members/{clerk}/", {"role": "owner", "active": "on"}),
        (f"/members/{clerk}/help/", {"password": "yes"}),
        ("/members/second-step/", {"required": "yes"}),
        ("/tokens/", {"name": "x"}),
        ("/account/codes/", {"code": "123456"}),
        ("/account/codes/remove/", {}),
        ("/account/passkeys/", {"name": "x", "passkey": "{}"}),
        (f"/account/passkeys/{clerk}/remove/", {}),
        ("/account/recovery/", {}),
        (f"/clients/{clerk}/erase/", {"reason": "x"}),
    ]


@pytest.mark.parametrize("number", range(11))
def test_each_dangerous_act_asks(house, number):
    address, given = dangerous(house)[number]
    asked = stale(signed_in()).post(address, given)
    assert asked.status_code == 200
    assert b"Is it still you?" in asked.content


def test_a_program_in_her_browser_erases_nobody_later(house):
    with house.scope():
        client = a_client(house.owner, "Olia Duarte")
    browser = signed_in()
    address, given = f"/api/v1/clients/{client.pk}/erasure/", {"reason": "asked by letter"}
    refused = stale(browser).post(address, given, content_type="application/json")
    assert refused.status_code == 403
    assert "Show once more who you are" in refused.json()["detail"]
    session = browser.session
    session[PROVED_AT] = int(time.time())
    session.save()
    assert browser.post(address, given, content_type="application/json").status_code == 201


def test_the_log_tells_of_each_try_and_of_no_address(house):
    with capture_logs() as lines:
        Client().post("/sign-in/", {"email": OWNER, "password": "not this one"})
        signed_in()
    told = [line for line in lines if line["event"] in {"sign-in refused", "signed in"}]
    assert [line["event"] for line in told] == ["sign-in refused", "signed in"]
    assert told[0]["account"] == account_mark(OWNER)
    assert told[1]["user"] == str(house.owner.user_id)
    assert OWNER not in str(lines)


def test_rights_are_looked_at_before_anybody_is_asked(house):
    browser = stale(signed_in(email="clerk@thimblerow.example"))
    assert browser.post("/members/", {"name": "x"}).status_code == 403


def test_guessing_at_the_question_is_counted(house):
    browser = stale(signed_in())
    for _ in range(8):
        browser.post("/tokens/", {"name": "x", "again_password": "wrong"})
    refused = browser.post("/tokens/", {"name": "x", "again_password": PASSWORD})
    assert b"Too many wrong passwords" in refused.content
    with house.scope():
        assert not ApiToken.objects.exists()


def test_a_page_that_was_asked_for_comes_after_the_answer(house):
    browser = stale(signed_in())
    assert b'name="again_then"' in browser.get("/account/codes/").content
    answer = browser.post("/account/codes/", {"again_password": PASSWORD, "again_then": "look"})
    assert (answer.status_code, answer["Location"]) == (302, "/account/codes/")
    assert b"<svg" in browser.get("/account/codes/").content


def test_a_token_for_programs_is_not_asked(house, api):
    assert api(house.owner).get("/api/v1/members/").status_code == 200


def test_joining_while_signed_in_keeps_the_visit(house, other_house):
    from studio.platform import links
    from studio.platform.services import people

    browser = signed_in()
    with other_house.scope():
        invited = people.invite_member(other_house.owner, name="O", email=OWNER, role="clerk")
    address = f"/join/{links.sign('join', other_house.studio_id, invited.pk)}/"
    assert browser.post(address).status_code == 302
    assert b"Bobbin Lane" in browser.get("/").content
    with other_house.scope():
        assert Member.objects.filter(user=User.objects.get(email=OWNER)).exists()
