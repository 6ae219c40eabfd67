"""Founding, inviting, joining: real services, real policies."""

import pytest

from studio.platform.errors import Conflict, NotAllowed, Refused
from studio.platform.models import Member, Studio
from studio.platform.services import people


def test_a_founded_studio_sees_its_own_people_only(house, other_house):
    with house.scope():
        assert {member.role for member in Member.objects.all()} == {"owner", "instructor", "clerk"}
        assert [studio.name for studio in Studio.objects.all()] == ["Thimble Row"]


def test_a_studio_keeps_an_owner(in_house):
    with pytest.raises(Conflict, match="needs an owner"):
        people.change_member(in_house.owner, in_house.owner.member_id, role="clerk", active=True)


def test_a_clerk_may_not_invite(in_house):
    with pytest.raises(NotAllowed, match="A clerk may not invite"):
        people.invite_member(in_house.clerk, name="Eve", email="eve@example.org", role="owner")


def test_a_weak_password_is_refused_by_field(db):
    with pytest.raises(Refused) as refused:
        people.found_studio(studio_name="X", name="Y", email="y@example.org", password="12345")
    assert set(refused.value.reasons) == {"password"}


def test_a_token_opens_the_api_and_no_page(house, api):
    program = api(house.owner)
    assert program.get("/api/v1/me/").status_code == 200
    assert program.get("/members/").headers["Location"] == "/sign-in/?next=/members/"
    program.credentials(HTTP_AUTHORIZATION="Bearer nonsense")
    assert program.get("/members/").headers["Location"] == "/sign-in/?next=/members/"
