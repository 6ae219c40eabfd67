"""A reason for an erasure, kept when all else is gone, tells nobody who the client was."""

import pytest

from studio.platform.errors import Refused
from studio.platform.models import Erasure
from studio.services import clients
from tests.studio.helpers import a_client


@pytest.fixture
def person(in_house):
    return a_client(
        in_house.clerk,
        "Olia Duarte",
        telephone="+44 555 014 277",
        email="od@home.example",
        guardian_name="Guardina Ferro",
        guardian_telephone="0555 / 099-31",
        guardian_email="post@mill.example",
    )


@pytest.mark.parametrize(
    ("reason", "what"),
    [
        ("wrote from OD@home.example", "email address"),
        ("asked by letter, call 0555 014277", "telephone number"),
        ("call 0555-014-277 when done", "telephone number"),
        ("her mother (post@mill.example) asked", "email address"),
        ("her mother asked, 0555 09931", "telephone number"),
        ("asked by Mrs Ferro", "name"),
    ],
)
def test_what_tells_who_she_is_stays_out(in_house, person, reason, what):
    with pytest.raises(Refused) as refused:
        clients.erase_client(in_house.owner, person.pk, reason=reason)
    assert f"Leave the {what} out of the reason" in refused.value.reasons["reason"]
    assert not Erasure.objects.exists()


@pytest.mark.parametrize(
    "reason", ["asked by letter on 03.05.2026", "asked on 3 May 2026 at 10:45, ticket 277"]
)
def test_a_date_tells_nobody(in_house, person, reason):
    assert clients.erase_client(in_house.owner, person.pk, reason=reason).reason == reason
