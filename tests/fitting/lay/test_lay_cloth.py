"""A lay's cloth: its length off a bolt once, and small pieces on a remnant."""

from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import transaction
from django.urls import reverse

from fitting.models import LayPlan
from fitting.queries.garment_lays import offers_of
from fitting.queries.lays import is_legal, lay_view
from fitting.services.lay_cloth import cut_for_lay, lay_on_remnant
from fitting.services.lay_table import keep_remnant
from fitting.services.lays import ask_lay
from seamlab.models import BoltRecord
from seamlab.queries.bolts import remaining_of
from seamlab.services.bolts import record_bolt
from studio.platform.errors import Conflict, NotAllowed, Refused
from tests.fitting.lay.conftest import make_cloth, make_skirt
from tests.fitting.lay.test_lays import lines, search


@pytest.fixture
def lay(in_house, skirt, satin):
    row = ask_lay(in_house.instructor, cloth_id=satin.pk, lines=lines(skirt), seconds=1)
    search(row)
    row.refresh_from_db()
    return row


@pytest.fixture
def bolt(in_house, satin):
    return record_bolt(in_house.instructor, cloth_id=satin.pk, label="S-1", length_mm=Decimal(5000))


def remnant_of(in_house, satin, length, width):
    return keep_remnant(
        in_house.instructor, cloth_id=satin.pk, length_mm=Decimal(length), width_mm=Decimal(width)
    )


def band(lay):
    """The smallest piece's key."""
    return next(one["key"] for one in lay.pieces if one["name"] == "Waistband")


def test_the_needed_length_leaves_the_bolt_once_and_names_the_lay(in_house, lay, bolt, page):
    needed = Decimal(str(round(lay_view(in_house.instructor, lay.pk).buy.length, 4)))
    address = reverse("fitting:lay", args=[lay.pk])
    assert page(in_house.clerk).post(address, {"bolt": str(bolt.pk)}).status_code == 403
    browser = page(in_house.instructor)
    assert f'name="bolt" value="{bolt.pk}"' in browser.get(address).content.decode()
    assert browser.post(address, {"bolt": str(bolt.pk)}).status_code == 302
    record = BoltRecord.objects.get()
    assert record.length_mm == needed
    assert lay.name in record.reason
    assert remaining_of(bolt) == 5000 - needed
    shown = browser.get(address).content.decode()
    assert 'name="bolt"' not in shown
    assert "are taken off" in shown
    with pytest.raises(Conflict, match="cut already"):
        cut_for_lay(in_house.instructor, lay.pk, bolt_id=bolt.pk)
    assert BoltRecord.objects.count() == 1


def test_a_bolt_that_does_not_reach_or_is_another_cloths_is_refused(in_house, lay, satin):
    short = record_bolt(in_house.instructor, cloth_id=satin.pk, label="S-2", length_mm=Decimal(300))
    poplin = make_cloth(in_house.instructor, "Sail poplin", width=1120, direction="two_way")
    other = record_bolt(in_house.instructor, cloth_id=poplin.pk, label="P-1", length_mm=Decimal(9000))
    for bolt_id, words in (
        (short.pk, "Only 0.3 m remain"),
        (other.pk, "this lay's cloth"),
        (uuid4(), "this lay"),
    ):
        with pytest.raises(Refused, match=words) as refused:
            cut_for_lay(in_house.instructor, lay.pk, bolt_id=bolt_id)
        assert list(refused.value.reasons) == ["bolt"]
    LayPlan.objects.filter(pk=lay.pk).update(chosen=None)
    with pytest.raises(Conflict, match="Choose the drawing"):
        cut_for_lay(in_house.instructor, lay.pk, bolt_id=short.pk)
    with pytest.raises(NotAllowed):
        cut_for_lay(in_house.clerk, lay.pk, bolt_id=short.pk)
    assert not BoltRecord.objects.exists()


def test_pieces_that_fit_a_remnant_are_offered_and_laid_on_it(in_house, lay, satin, page):
    remnant = remnant_of(in_house, satin, 900, 300)
    view = lay_view(in_house.instructor, lay.pk)
    offers = offers_of(view.lay, view.pieces, view.remnants)
    assert [(one.remnant.pk, [key for key, _ in one.pieces]) for one in offers] == [(remnant.pk, [band(lay)])]
    browser, address = page(in_house.instructor), reverse("fitting:lay", args=[lay.pk])
    assert f'name="piece" value="{band(lay)}" checked' in browser.get(address).content.decode()
    answer = browser.post(address, {"remnant": str(remnant.pk), "piece": [band(lay)]})
    first, rest = LayPlan.objects.filter(taken_from=lay).order_by("id")
    assert answer["Location"] == reverse("fitting:lay", args=[first.pk])
    assert [one["key"] for one in first.pieces] == [band(lay)]
    assert sorted(one["key"] for one in (*first.pieces, *rest.pieces)) == sorted(
        one["key"] for one in lay.pieces
    )
    assert first.most_length_mm == 900
    assert first.width_mm == 300
    assert rest.most_length_mm is None
    for one in (first, rest):
        drawing = one.drawings.get(number=one.chosen)
        assert is_legal(one, drawing)
        assert one.job_id is not None
    remnant.refresh_from_db()
    assert remnant.used_in_id == first.pk
    assert "Its pieces were laid anew" in browser.get(address).content.decode()
    assert browser.get(answer["Location"]).status_code == 200
    with pytest.raises(Conflict, match="laid anew"):
        lay_on_remnant(in_house.instructor, lay.pk, remnant_id=remnant.pk, keys=[band(lay)])


def test_what_does_not_lie_on_the_remnant_is_refused_and_nothing_is_kept(in_house, lay, satin, poplin):
    short, used = remnant_of(in_house, satin, 200, 1300), remnant_of(in_house, poplin, 900, 300)
    every = [one["key"] for one in lay.pieces]
    cases = [
        (short.pk, [band(lay)], "keys", "the remnant is 20.0 cm long"),
        (short.pk, every, "keys", "All pieces"),
        (short.pk, [], "keys", "Choose which pieces"),
        (short.pk, ["9-9"], "keys", "Choose which pieces"),
        (used.pk, [band(lay)], "remnant", "no such remnant"),
    ]

    for remnant_id, keys, field, words in cases:
        with pytest.raises(Refused) as refused, transaction.atomic():
            lay_on_remnant(in_house.instructor, lay.pk, remnant_id=remnant_id, keys=keys)
        assert words in refused.value.reasons[field]
    assert LayPlan.objects.count() == 1


def test_both_over_the_api(house, api):

    with house.scope():
        skirt = make_skirt(house.instructor)
        satin = make_cloth(house.instructor, "Duchess satin", width=1370, direction="sheen")
        row = ask_lay(house.instructor, cloth_id=satin.pk, lines=lines(skirt), seconds=1)
        search(row)
        remnant = keep_remnant(
            house.instructor, cloth_id=satin.pk, length_mm=Decimal(900), width_mm=Decimal(300)
        )
        bolt = record_bolt(house.instructor, cloth_id=satin.pk, label="S-1", length_mm=Decimal(5000))
    caller = api(house.instructor)
    address = f"/api/v1/lays/{row.pk}/"
    tag = caller.get(address)["ETag"]
    given = {"remnant_id": str(remnant.pk), "keys": [band(row)]}
    split = caller.post(f"{address}on-remnant/", given, format="json", HTTP_IF_MATCH=tag)
    assert split.status_code == 202
    on_it, rest = (f"/api/v1/lays/{split.json()[name]}/" for name in ("on_remnant", "rest"))
    assert split["Location"] == on_it
    assert caller.get(on_it).json()["taken_from"] == str(row.pk)
    with house.scope():
        search(LayPlan.objects.get(pk=split.json()["rest"]))
    tag = caller.get(rest)["ETag"]
    cut = caller.post(f"{rest}cut/", {"bolt_id": str(bolt.pk)}, format="json", HTTP_IF_MATCH=tag)
    assert cut.status_code == 200
    assert cut.json()["cut"]
    again = caller.post(f"{rest}cut/", {"bolt_id": str(bolt.pk)}, format="json", HTTP_IF_MATCH=cut["ETag"])
    assert again.status_code == 409
