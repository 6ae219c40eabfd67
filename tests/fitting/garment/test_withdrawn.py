"""Whoever withdrew consent is reported on no more."""

import pytest

from fitting.models import FitReport
from fitting.services.reports import ask_report
from studio.platform.errors import Refused
from studio.platform.models import Job
from studio.services.clients import record_consent
from tests.fitting.garment.conftest import Shop


def test_no_report_after_consent_was_withdrawn(shop: Shop) -> None:
    garment = shop.garment()
    for given in (True, False):
        record_consent(
            shop.house.clerk, garment.client_id, kind="measure", given=given, given_by=garment.client.name
        )
    with pytest.raises(Refused) as refused:
        ask_report(shop.instructor, garment.pk)
    assert "withdrawn the consent" in refused.value.reasons["garment"]
    assert not FitReport.objects.exists()
    assert not Job.objects.exists()
