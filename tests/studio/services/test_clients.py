"""Recording clients and consent: rules, sentences, nothing half-saved."""

from datetime import date

import pytest
from django.utils import timezone

from studio.models import Client, ClientSearch, Consent
from studio.platform.errors import Conflict, NotHere, Refused, Stale
from studio.platform.models import AuditEntry
from studio.queries.clients import consent_states, hindrance_of
from studio.services import clients
from tests.studio.helpers import a_client


def _nine_years_old() -> date:
    return timezone.localdate().replace(year=timezone.localdate().year - 9, day=1)


def test_a_client_with_consent_may_be_measured(in_house):
    client = a_client(in_house.clerk)
    assert hindrance_of(in_house.clerk, client) is None
    assert {entry.act for entry in AuditEntry.objects.filter(client_id=client.pk)} == {
        "record_client",
        "record_consent",
    }


def test_without_consent_the_client_is_recorded_and_not_measurable(in_house):
    client = clients.record_client(in_house.clerk, name="  Olia   Duarte ")
    assert client.name == "Olia Duarte"
    assert hindrance_of(in_house.clerk, client).kind == "not asked"


@pytest.mark.parametrize(
    ("facts", "field", "sentence"),
    [
        ({"name": " "}, "name", "Give the client's name."),
        ({"unit": "ell"}, "unit", "Lengths are shown in cm or in"),
        ({"born": date(2999, 1, 1)}, "born", "lies in the future"),
        ({"born": date(1850, 1, 1)}, "born", "more than 130 years ago"),
        ({"email": "olia at home"}, "email", "valid email"),
        ({"telephone": "0" * 41}, "telephone", "40"),
        ({"consent_by_guardian": True, "consent_by": ""}, "consent_by", "name of the guardian"),
    ],
)
def test_what_can_not_be_is_refused_by_field_and_nothing_is_kept(in_house, facts, field, sentence):
    with pytest.raises(Refused) as refused:
        a_client(in_house.clerk, **facts) if "name" not in facts else a_client(in_house.clerk, facts["name"])
    assert sentence in refused.value.reasons[field]
    assert not ClientSearch.objects.exists()
    assert not Consent.objects.exists()


def test_a_minor_needs_a_guardian_and_the_guardians_consent(in_house):
    born = _nine_years_old()
    with pytest.raises(Refused) as alone:
        a_client(in_house.clerk, "Tomas", born=born)
    assert alone.value.reasons["guardian_name"] == "Tomas is under 18: give the guardian's name."
    assert "guardian's to give" in alone.value.reasons["consent_by_guardian"]
    with pytest.raises(Refused) as own:
        a_client(in_house.clerk, "Tomas", born=born, guardian_name="Olia")
    assert set(own.value.reasons) == {"consent_by_guardian"}
    assert not Client.objects.exists()
    child = a_client(
        in_house.clerk, "Tomas", born=born, guardian_name="Olia", consent_by="Olia", consent_by_guardian=True
    )
    assert hindrance_of(in_house.clerk, child) is None


def test_a_minors_consent_is_the_guardians_but_anybody_may_withdraw_it(in_house):
    child = clients.record_client(in_house.clerk, name="Tomas", born=_nine_years_old(), guardian_name="Olia")
    with pytest.raises(Refused) as refused:
        clients.record_consent(in_house.clerk, child.pk, kind="measure", given=True, given_by="Tomas")
    assert set(refused.value.reasons) == {"by_guardian"}
    clients.record_consent(
        in_house.clerk, child.pk, kind="measure", given=True, given_by="Olia", by_guardian=True
    )
    assert hindrance_of(in_house.clerk, child) is None
    clients.record_consent(in_house.clerk, child.pk, kind="measure", given=False, given_by="Tomas")
    assert hindrance_of(in_house.clerk, child).kind == "withdrawn"
    assert Consent.objects.count() == 2


def test_one_kind_of_consent_says_nothing_of_another(in_house):
    client = a_client(in_house.clerk)
    assert not next(
        each for each in consent_states(in_house.clerk, client.pk) if each.kind == "photograph"
    ).holds
    with pytest.raises(Refused) as refused:
        clients.record_consent(in_house.clerk, client.pk, kind="film", given=True, given_by=" ")
    assert set(refused.value.reasons) == {"kind", "given_by"}


def test_a_change_counts_the_version_and_writes_down_fields_not_values(in_house):
    client = a_client(in_house.clerk, telephone="0555 014 277")
    changed = clients.change_client(
        in_house.clerk, client.pk, expected_version=1, telephone="0555 999", name="Olia Holm"
    )
    assert changed.version == 2
    entry = AuditEntry.objects.get(act="change_client")
    assert entry.detail == {"fields": ["name", "telephone"]}
    assert ClientSearch.objects.get().digits == "0555999"


def test_a_stale_change_is_told(in_house):
    client = a_client(in_house.clerk)
    clients.change_client(in_house.clerk, client.pk, expected_version=1, notes="left-handed")
    with pytest.raises(Stale, match="changed by somebody else"):
        clients.change_client(in_house.clerk, client.pk, expected_version=1, notes="tall")


def test_a_change_may_not_leave_a_minor_without_a_guardian(in_house):
    client = a_client(in_house.clerk)
    with pytest.raises(Refused) as refused:
        clients.change_client(in_house.clerk, client.pk, expected_version=None, born=_nine_years_old())
    assert set(refused.value.reasons) == {"guardian_name"}
    assert Client.objects.get().born is None


def test_a_client_of_another_studio_is_not_here(house, other_house):
    with other_house.scope():
        theirs = a_client(other_house.clerk)
    with house.scope():
        for act in (
            lambda: clients.change_client(house.owner, theirs.pk, expected_version=None, name="X"),
            lambda: clients.record_consent(house.owner, theirs.pk, kind="measure", given=False, given_by="X"),
            lambda: clients.erase_client(house.owner, theirs.pk, reason="asked by letter"),
            lambda: clients.export_client(house.owner, theirs.pk),
        ):
            with pytest.raises(NotHere, match="no such client"):
                act()


def test_nothing_more_is_recorded_of_an_erased_client(in_house):
    client = a_client(in_house.clerk)
    clients.erase_client(in_house.owner, client.pk, reason="asked by letter")
    for act in (
        lambda: clients.change_client(in_house.owner, client.pk, expected_version=None, name="Again"),
        lambda: clients.record_consent(in_house.owner, client.pk, kind="measure", given=True, given_by="X"),
        lambda: clients.erase_client(in_house.owner, client.pk, reason="asked again"),
    ):
        with pytest.raises(Conflict, match="erased"):
            act()
