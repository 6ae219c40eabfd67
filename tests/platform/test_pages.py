"""Signing in, choosing a studio, members, tokens, the first owner: the platform's pages."""

import re

import pytest
from django.test import Client

from studio.platform import links
from studio.platform.models import Member
from studio.platform.services import people
from tests.conftest import PASSWORD


def test_pages_send_strangers_to_sign_in(db, client):
    answer = client.get("/members/")
    assert answer.status_code == 302
    assert answer["Location"].startswith("/sign-in/?next=/members/")


def test_signing_in_leads_where_one_wanted_to_go(house, client):
    answer = client.post(
        "/sign-in/", {"email": "OWNER@thimblerow.example ", "password": PASSWORD, "next": "/members/"}
    )
    assert (answer.status_code, answer["Location"]) == (302, "/members/")
    assert client.get("/members/").status_code == 200


def test_a_foreign_address_is_not_followed(house, client):
    answer = client.post(
        "/sign-in/",
        {"email": "owner@thimblerow.example", "password": PASSWORD, "next": "https://evil.example/"},
    )
    assert answer["Location"] == "/"


def test_wrong_pairs_are_counted_and_then_refused(house, client):
    for _ in range(8):
        answer = client.post("/sign-in/", {"email": "owner@thimblerow.example", "password": "wrong"})
        assert answer.status_code == 400
    answer = client.post("/sign-in/", {"email": "owner@thimblerow.example", "password": PASSWORD})
    assert b"Too many tries" in answer.content


def test_an_unknown_email_reads_the_same_as_a_wrong_password(house, client):
    def words(email):
        return (
            client.post("/sign-in/", {"email": email, "password": "wrong"}).context["form"].non_field_errors()
        )

    assert words("nobody@thimblerow.example") == words("owner@thimblerow.example")


def test_one_person_in_two_studios_chooses(house, other_house, client):
    from studio.platform.models import User

    with other_house.scope():
        invitation = people.invite_member(other_house.owner, name="P", email="p@example.org", role="clerk")
    user = User.objects.get(pk=house.instructor.user_id)
    people.accept_invitation(other_house.studio_id, invitation.pk, lambda _: user)
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    assert client.get("/").headers["Location"] == "/studios/"
    assert client.post("/studios/", {"studio": str(other_house.studio_id)}).headers["Location"] == "/"
    assert b"Bobbin Lane" in client.get("/").content
    client.post("/studios/", {"studio": "0199d2a0-0000-7000-8000-000000000000"})
    assert b"Bobbin Lane" in client.get("/").content


def test_the_first_owner_opens_the_studio_by_a_link_that_works_once(db, client):
    secret = people.make_setup_link()
    given = {
        "studio_name": "Pin & Needle",
        "name": "Runa Halvorsen",
        "email": "runa@example.org",
        "password": "short",
        "time_zone": "Europe/Oslo",
        "unit": "cm",
        "language": "en",
    }
    refused = client.post(f"/begin/{secret}/", given)
    assert refused.status_code == 400
    assert "password" in refused.context["form"].errors
    assert client.post(f"/begin/{secret}/", {**given, "password": PASSWORD}).status_code == 302
    assert b"Pin &amp; Needle" in client.get("/").content
    assert Client().get(f"/begin/{secret}/").status_code == 404


def test_an_owner_invites_and_somebody_joins(house, page):
    browser = page(house.owner)
    browser.post("/members/", {"name": "Tove", "email": "tove@example.org", "role": "clerk"})
    address = re.search(
        r'value="http://[^/]+(/join/[^"]+)"', browser.get("/members/").content.decode()
    ).group(1)
    guest = Client()
    assert guest.get(address).status_code == 200
    joined = guest.post(address, {"name": "Tove Lund", "email": "tove@example.org", "password": PASSWORD})
    assert joined.status_code == 302
    with house.scope():
        assert Member.objects.get(name="Tove Lund").role == "clerk"
    assert (
        Client().post(address, {"name": "X", "email": "x@example.org", "password": PASSWORD}).status_code
        == 404
    )


def test_a_changed_link_opens_nothing(house, client):
    with house.scope():
        invitation = people.invite_member(house.owner, name="T", email="t@example.org", role="clerk")
    signed = links.sign("join", house.studio_id, invitation.pk)
    assert client.get(f"/join/{signed[:-2]}/").status_code == 404
    assert client.get(f"/join/{links.sign('report', house.studio_id, invitation.pk)}/").status_code == 404


@pytest.mark.parametrize(("role", "status"), [("owner", 200), ("instructor", 403), ("clerk", 403)])
def test_only_owners_keep_members(house, page, role, status):
    assert page(getattr(house, role)).get("/members/").status_code == status


def test_a_token_is_shown_once_and_can_be_revoked(house, page, client):
    browser = page(house.clerk)
    shown = browser.post("/tokens/", {"name": "till"})
    secret = re.search(r"<code>([^<]+)</code>", shown.content.decode()).group(1)
    assert shown["Cache-Control"] == "no-store"
    assert secret not in browser.get("/tokens/").content.decode()
    stranger = Client()
    assert stranger.get("/api/v1/me/", HTTP_AUTHORIZATION=f"Bearer {secret}").json()["role"] == "clerk"
    token_id = re.search(r'name="revoke" value="([^"]+)"', browser.get("/tokens/").content.decode()).group(1)
    browser.post("/tokens/", {"revoke": token_id})
    assert stranger.get("/api/v1/me/", HTTP_AUTHORIZATION=f"Bearer {secret}").status_code == 401


def test_pages_carry_the_strict_policy(house, page):
    answer = page(house.owner).get("/")
    policy = answer["Content-Security-Policy"]
    assert "unsafe" not in policy
    assert "default-src 'none'" in policy
    assert answer["X-Frame-Options"] == "DENY"
    text = answer.content.decode()
    assert " style=" not in text
    assert not re.search(r"<script(?![^>]*\bsrc=)", text)


def test_signing_out_empties_the_tablet_s_cache(house, page):
    answer = page(house.owner).post("/sign-out/")
    assert answer["Clear-Site-Data"] == '"cache"'


def test_behind_a_proxy_people_are_told_apart(house, client, settings):
    settings.TRUSTED_PROXIES = 1
    for number in range(60):
        client.post(
            "/sign-in/",
            {"email": f"x{number}@example.org", "password": "wrong"},
            HTTP_X_FORWARDED_FOR="203.0.113.9",
        )
    given = {"email": "owner@thimblerow.example", "password": PASSWORD}
    assert client.post("/sign-in/", given, HTTP_X_FORWARDED_FOR="203.0.113.9").status_code == 400
    # What a stranger writes into the header stands before what our own proxy adds, and counts for nothing.
    forged = "198.51.100.7, 203.0.113.9"
    assert client.post("/sign-in/", given, HTTP_X_FORWARDED_FOR=forged).status_code == 400
    assert client.post("/sign-in/", given, HTTP_X_FORWARDED_FOR="198.51.100.7").status_code == 302


def test_somebody_let_go_can_be_asked_back(house):
    from studio.platform.models import User

    with house.scope():
        people.change_member(house.owner, house.clerk.member_id, role="clerk", active=False)
        invitation = people.invite_member(house.owner, name="C", email="c@example.org", role="instructor")
    user = User.objects.get(pk=house.clerk.user_id)
    back = people.accept_invitation(house.studio_id, invitation.pk, lambda _: user)
    assert (back.member_id, back.role) == (house.clerk.member_id, "instructor")


def test_pages_are_not_remembered_by_the_browser(house, page):
    assert page(house.owner).get("/")["Cache-Control"] == "private, no-store"


def test_a_nul_in_an_address_is_refused(house, page):
    assert page(house.owner).get("/?words=%00").status_code == 400
