"""The second step: codes that count once, recovery codes, passkeys, and what a studio may ask of everybody."""

import html
import re
import time

import pyotp
import pytest
from django.test import Client

from studio.platform.errors import Conflict, Refused
from studio.platform.models import AuditEntry, CodeKey, Passkey, RecoveryCode, Session, User
from studio.platform.sealing import seal, unseal
from studio.platform.services import second_step
from tests.conftest import PASSWORD
from tests.platform.authenticator import PRESENT, SecurityKey

OWNER = "owner@thimblerow.example"
START = 1_800_000_000
HOST = {"HTTP_HOST": "localhost:8000"}


@pytest.fixture
def clock(monkeypatch):
    """A clock that we set: codes hang on it."""
    now = [float(START)]
    monkeypatch.setattr("studio.platform.services.second_step.time.time", lambda: now[0])
    return now


def user_of(actor):
    return User.objects.get(pk=actor.user_id)


def with_app(actor, clock):
    """Switch codes on; gives the app and the recovery codes."""
    user = user_of(actor)
    app = pyotp.TOTP(second_step.begin_code_key(user))
    codes = second_step.confirm_code_key(user, app.at(int(clock[0])))
    clock[0] += 30
    return app, codes


def signing_in(email=OWNER, next_page="", **extra):
    browser = Client(**extra)
    answer = browser.post("/sign-in/", {"email": email, "password": PASSWORD, "next": next_page})
    assert answer["Location"] == "/sign-in/second/"
    return browser


def inside(browser):
    return browser.get("/").status_code == 200


@pytest.mark.parametrize(
    ("at", "code"),
    # RFC 6238, appendix B (SHA-1 with the key "12345678901234567890"): the last six of its eight figures.
    [(59, "287082"), (1111111109, "081804"), (1234567890, "005924"), (2000000000, "279037")],
)
def test_codes_are_those_of_the_standard(house, clock, at, code):
    user, clock[0] = user_of(house.owner), float(at)
    CodeKey.objects.create(user=user, secret=seal("code key", "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"))
    assert second_step.confirm_code_key(user, code)


def test_a_right_password_alone_opens_nothing(house, clock):
    app, _ = with_app(house.owner, clock)
    browser = signing_in(next_page="/members/")
    assert not inside(browser)
    assert browser.get("/api/v1/me/").status_code == 401
    assert browser.get("/account/").status_code == 302
    wrong = browser.post("/sign-in/second/", {"code": "000000" if app.at(int(clock[0])) != "000000" else "1"})
    assert wrong.status_code == 400
    right = browser.post("/sign-in/second/", {"code": app.at(int(clock[0]))})
    assert right["Location"] == "/members/"
    assert inside(browser)


def test_a_code_counts_once(house, clock):
    app, _ = with_app(house.owner, clock)
    code = app.at(int(clock[0]))
    first, second = signing_in(), signing_in()
    assert first.post("/sign-in/second/", {"code": code}).status_code == 302
    assert second.post("/sign-in/second/", {"code": code}).status_code == 400
    # The one before it is older than the one taken: void as well, though a clock might be late.
    assert second.post("/sign-in/second/", {"code": app.at(int(clock[0]) - 30)}).status_code == 400
    clock[0] += 30
    assert second.post("/sign-in/second/", {"code": app.at(int(clock[0]))}).status_code == 302


@pytest.mark.parametrize(("late", "taken"), [(-60, False), (-30, True), (0, True), (30, True), (60, False)])
def test_a_clock_may_be_half_a_minute_off(house, clock, late, taken):
    app, _ = with_app(house.owner, clock)
    clock[0] += 300
    code = app.at(int(clock[0]) + late)
    assert (signing_in().post("/sign-in/second/", {"code": code}).status_code == 302) is taken


def test_guessing_codes_is_slow_whatever_the_browser(house, clock):
    app, recovery = with_app(house.owner, clock)
    for _ in range(6):
        signing_in().post("/sign-in/second/", {"code": "11111"})
    late = signing_in().post("/sign-in/second/", {"code": app.at(int(clock[0]))})
    assert b"Too many wrong codes" in late.content
    assert b"Too many wrong codes" in signing_in().post("/sign-in/second/", {"code": recovery[0]}).content


def test_the_half_signed_in_are_forgotten_after_ten_minutes(house, clock):
    app, _ = with_app(house.owner, clock)
    browser = signing_in()
    session = browser.session
    session["half_signed_in"] = {**session["half_signed_in"], "at": int(time.time()) - 601}
    session.save()
    answer = browser.post("/sign-in/second/", {"code": app.at(int(clock[0]))})
    assert answer["Location"] == "/sign-in/"
    assert not inside(browser)


def test_a_recovery_code_opens_once_and_is_kept_as_a_hash(house, clock):
    _, recovery = with_app(house.owner, clock)
    assert len(set(recovery)) == 10
    assert not any(
        code.replace("-", "") in row.code_hash for row in RecoveryCode.objects.all() for code in recovery
    )
    browser = signing_in()
    assert browser.post("/sign-in/second/", {"code": f" {recovery[3].upper()} "})["Location"] == "/account/"
    assert b"9 left" in browser.get("/account/").content
    assert signing_in().post("/sign-in/second/", {"code": recovery[3]}).status_code == 400
    with house.scope():
        assert AuditEntry.objects.filter(act="use_recovery_code").count() == 1


def test_the_shared_secret_is_encrypted_and_opens_with_an_older_key(house, clock, settings):
    app, _ = with_app(house.owner, clock)
    row = CodeKey.objects.get(user_id=house.owner.user_id)
    assert app.secret not in row.secret
    assert unseal("code key", row.secret) == app.secret
    assert unseal("another purpose", row.secret) is None
    settings.SECRET_KEY, settings.SECRET_KEY_FALLBACKS = "a new one" * 8, [settings.SECRET_KEY]
    assert unseal("code key", row.secret) == app.secret
    settings.SECRET_KEY_FALLBACKS = []
    assert unseal("code key", row.secret) is None
    with pytest.raises(Refused):
        second_step.check_second_step(user_of(house.owner), app.at(int(clock[0])))


def test_setting_an_app_up_on_the_page(house, page, clock):
    browser = page(house.clerk)
    shown = browser.get("/account/codes/").content.decode()
    secret = re.search(r"<code>([A-Z2-7 ]+)</code>", shown).group(1).replace(" ", "")
    assert shown.count("<svg") == 1
    refused = browser.post("/account/codes/", {"code": "abcdef"})
    assert "not right" in refused.context["form"].errors["code"][0]
    assert secret in refused.content.decode().replace(" ", ""), "the same square as before"
    assert not second_step.CodeKey.objects.exclude(confirmed_at=None).exists()
    done = browser.post("/account/codes/", {"code": pyotp.TOTP(secret).at(int(clock[0]))})
    assert len(re.findall(r"<li><code>\w{5}-\w{5}</code>", done.content.decode())) == 10
    assert browser.get("/account/codes/").status_code == 409, "the secret is not shown again"
    browser.post("/account/codes/remove/")
    assert not RecoveryCode.objects.exists()
    with house.scope():
        acts = AuditEntry.objects.filter(member_id=house.clerk.member_id).values_list("act", flat=True)
        assert {"add_second_step", "remove_second_step"} <= set(acts)


def test_a_studio_that_asks_for_it_lets_nobody_in_without(house, page, clock):
    owner = page(house.owner)
    assert owner.post("/members/second-step/", {"required": "yes"}).status_code == 409, "not herself yet"
    app, _ = with_app(house.owner, clock)
    owner.post("/members/second-step/", {"required": "yes"})
    clerk = Client()
    clerk.post("/sign-in/", {"email": "clerk@thimblerow.example", "password": PASSWORD})
    assert clerk.get("/past-fits/")["Location"] == "/account/"
    assert clerk.get("/api/v1/clients/").status_code == 401
    assert b"asks everybody for a second step" in clerk.get("/account/").content
    secret = re.search(r"<code>([A-Z2-7 ]+)</code>", clerk.get("/account/codes/").content.decode()).group(1)
    clerk.post("/account/codes/", {"code": pyotp.TOTP(secret.replace(" ", "")).at(int(clock[0]))})
    assert clerk.get("/past-fits/").status_code == 200
    assert clerk.post("/account/codes/remove/").status_code == 409, "the last one stays"
    # By password and code the owner is in as well; a program's token is not asked.
    clock[0] += 30
    again = signing_in()
    again.post("/sign-in/second/", {"code": app.at(int(clock[0]))})
    assert inside(again)


def test_tokens_of_programs_are_not_asked_for_a_second_step(house, api, clock):
    from studio.platform.services import accounts

    with_app(house.owner, clock)
    with house.scope():
        accounts.ask_everybody_for_second_step(house.owner, required=True)
    assert api(house.clerk).get("/api/v1/me/").status_code == 200


def test_an_owner_helps_a_member_who_lost_it(house, page, clock):
    with_app(house.clerk, clock)
    browser = page(house.owner)
    assert b"Second step lost" in browser.get("/members/").content
    browser.post(f"/members/{house.clerk.member_id}/help/", {"second_step": "yes"})
    clerk = Client()
    answer = clerk.post("/sign-in/", {"email": "clerk@thimblerow.example", "password": PASSWORD})
    assert answer["Location"] == "/"
    again = browser.post(f"/members/{house.clerk.member_id}/help/", {"second_step": "yes"})
    assert again.status_code == 409
    with house.scope():
        assert AuditEntry.objects.filter(act="help_with_second_step").count() == 1


# --- passkeys ----------------------------------------------------------------------------------------------------


def site_key(**more):
    return SecurityKey("localhost", "http://localhost:8000", **more)


def added(browser, key):
    question = browser.post("/account/passkeys/question/").json()
    return browser.post("/account/passkeys/", {"name": "telephone", "passkey": key.make(question)})


@pytest.fixture
def member(house, page):
    browser = page(house.owner)
    browser.defaults.update(HTTP_HOST="localhost:8000")
    return browser


def question(browser, purpose=""):
    return browser.post("/sign-in/passkey/", {"purpose": purpose}).json()


def test_a_passkey_signs_in_by_itself_and_says_nothing_beforehand(house, member):
    key = site_key()
    assert b"Write these codes down" in added(member, key).content
    browser = Client(**HOST)
    asked = question(browser)
    assert asked["allowCredentials"] == []
    assert asked["userVerification"] == "required"
    answer = browser.post("/sign-in/", {"passkey": key.prove(asked), "next": "/members/"})
    assert answer["Location"] == "/members/"
    assert inside(browser)
    row = Session.objects.get(session_key=browser.session.session_key)
    assert str(row.user_id) == str(house.owner.user_id)


def test_a_passkey_alone_must_have_asked_for_finger_or_pin(member):
    key = site_key(flags=PRESENT)
    added(member, key)
    browser = Client(**HOST)
    refused = browser.post("/sign-in/", {"passkey": key.prove(question(browser))})
    assert b"was not accepted" in refused.content
    # After the password it is the second step, and a touch is enough.
    browser = signing_in(**HOST)
    asked = question(browser, "second step")
    assert len(asked["allowCredentials"]) == 1
    assert browser.post("/sign-in/second/", {"passkey": key.prove(asked)}).status_code == 302
    assert inside(browser)


def refused_for(browser, answer):
    return b"not accepted" in browser.post("/sign-in/", {"passkey": answer}).content and not inside(browser)


def test_an_answer_is_taken_once_here_and_for_its_own_question_alone(member):
    key = site_key()
    added(member, key)
    browser, other = Client(**HOST), Client(**HOST)
    answer = key.prove(question(browser))
    assert b"took too long" in other.post("/sign-in/", {"passkey": answer}).content
    question(other)
    assert refused_for(other, answer), "another browser's challenge"
    browser.post("/sign-in/", {"passkey": answer})
    assert inside(browser)
    browser.post("/sign-out/")
    assert b"took too long" in browser.post("/sign-in/", {"passkey": answer}).content


def test_another_site_a_copied_key_and_a_strange_one_are_refused(house, member, clock):
    key = site_key()
    added(member, key)
    for changed in (
        {"origin": "https://localhost.evil.example"},
        {"origin": "http://localhost:8000.evil.example"},
        {"host": "evil.example"},
    ):
        for name, value in changed.items():
            setattr(key, name, value)
        browser = Client(**HOST)
        assert refused_for(browser, key.prove(question(browser)))
        key.host, key.origin = "localhost", "http://localhost:8000"
    browser = Client(**HOST)
    assert refused_for(browser, site_key(credential_id=key.credential_id).prove(question(browser)))
    key.count = 0  # an older copy of the key
    browser = Client(**HOST)
    assert refused_for(browser, key.prove(question(browser)))
    # Somebody else's passkey is no second step for me.
    with_app(house.clerk, clock)
    key.count = 50
    browser = signing_in("clerk@thimblerow.example", **HOST)
    refused = browser.post("/sign-in/second/", {"passkey": key.prove(question(browser, "second step"))})
    assert refused.status_code == 400


@pytest.mark.parametrize(
    "answer",
    ["", "{", "[]", "null", '{"rawId": 7}', '{"id": "a", "rawId": "a"}', "[" * 5000, "x" * 30_000,
     '{"id":"AAAA","rawId":"AAAA","type":"public-key","response":{"clientDataJSON":"AA","attestationObject":"n2Fh"}}'],
)  # fmt: skip
def test_strange_bytes_are_refused_calmly(member, answer):
    member.post("/account/passkeys/question/")
    assert member.post("/account/passkeys/", {"name": "x", "passkey": answer}).status_code == 400
    assert not Passkey.objects.exists()
    browser = Client(**HOST)
    question(browser)
    assert browser.post("/sign-in/", {"passkey": answer or "x"}).status_code == 400


def test_one_passkey_is_one_person_s_and_can_be_removed(house, member):
    key = site_key()
    added(member, key)
    assert b"known already" in html.unescape(added(member, key).content.decode()).encode()
    row = Passkey.objects.get()
    other = Client()
    other.post("/sign-in/", {"email": "clerk@thimblerow.example", "password": PASSWORD})
    assert other.post(f"/account/passkeys/{row.pk}/remove/").status_code == 404
    assert member.post(f"/account/passkeys/{row.pk}/remove/").status_code == 302
    browser = Client(**HOST)
    assert refused_for(browser, key.prove(question(browser)))
    assert not RecoveryCode.objects.exists()


def test_being_asked_once_more_can_be_answered_by_passkey(member):
    key = site_key()
    added(member, key)
    session = member.session
    session["proved_at"] = 0
    session.save()
    answer = key.prove(question(member))
    given = {"name": "till", "again_password": "", "again_passkey": answer}
    assert b"Copy it now" in member.post("/tokens/", given).content


def test_passkeys_are_not_offered_where_browsers_keep_none(house, page):
    shown = page(house.owner).get("/account/", HTTP_HOST="127.0.0.1:8000").content
    assert b"Passkeys need an address" in shown
    assert b"with a passkey" not in Client().get("/sign-in/", HTTP_HOST="127.0.0.1:8000").content
    assert b"with a passkey" in Client().get("/sign-in/", **HOST).content


def test_the_last_second_step_stays_where_it_is_asked_for(house, member):
    from studio.platform.services import accounts, passkeys

    added(member, site_key())
    with house.scope():
        accounts.ask_everybody_for_second_step(house.owner, required=True)
    with pytest.raises(Conflict, match="add another one"):
        passkeys.remove_passkey(user_of(house.owner), Passkey.objects.get().pk)
