"""A lay belongs to a garment: what is filled in, what the pages and the API tell, what the checkpoint asks."""

from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse

from fitting.models import LayLine, LayPlan
from fitting.queries.garment_lays import lay_start, lays_of_garment, paper_altered
from fitting.queries.garments import checkpoint_states
from fitting.services.garments import change_garment, open_garment
from fitting.services.lay_table import check_grain
from fitting.services.lays import LineGiven, ask_lay
from fitting.services.outlines import draft_outlines
from fitting.services.patterns import record_pattern
from fitting.services.plans import make_plan
from studio.platform.errors import NotHere, Refused
from tests.fitting.lay.conftest import sizes_of_a_skirt
from tests.fitting.lay.test_lays import lines, search, size
from tests.fitting.paper.invented import OLIA, client, measure


@pytest.fixture
def wearer(in_house):
    who = client(in_house.instructor)
    measure(in_house.instructor, who, OLIA)
    return who


@pytest.fixture
def skirt(in_house):
    """Its paper is smaller than the wearer, so that her plan alters it."""
    pattern = record_pattern(in_house.instructor, **(sizes_of_a_skirt() | {"closeness": "fitted"}))
    draft_outlines(in_house.instructor, pattern.pk)
    return pattern


@pytest.fixture
def garment(in_house, skirt, satin, wearer):
    return open_garment(
        in_house.clerk,
        client_id=wearer.pk,
        kind="skirt",
        words="grey panel skirt",
        pattern_id=skirt.pk,
        cloth_id=satin.pk,
    )


@pytest.fixture
def planned(in_house, skirt, wearer, garment):
    plan = make_plan(in_house.instructor, client_id=wearer.pk, pattern_id=skirt.pk, garment_id=garment.pk)
    change_garment(in_house.instructor, garment.pk, plan_id=plan.pk)
    garment.refresh_from_db()
    return garment


def laid_for(in_house, garment, skirt, satin):
    line = lines(skirt)[0]
    lay = ask_lay(
        in_house.instructor,
        cloth_id=satin.pk,
        lines=[LineGiven(line.pattern_id, line.size_id, 1, garment.pk)],
        seconds=1,
    )
    search(lay)
    lay.refresh_from_db()
    return lay


def test_the_size_of_the_plan_is_filled_in(in_house, planned, skirt, satin, page):
    start = lay_start(in_house.instructor, planned.pk)
    taken = [one["size"] for one in planned.plan.result["sizes"]["zones"]]
    assert start.size.name == max(set(taken), key=lambda name: (taken.count(name), name))
    assert start.drawn
    browser = page(in_house.instructor)
    shown = browser.get(reverse("fitting:garment", args=[planned.pk])).content.decode()
    address = f"{reverse('fitting:new-lay')}?garment={planned.pk}"
    assert f'href="{address}"' in shown
    form = browser.get(address).content.decode()
    assert f'value="{skirt.pk}:{start.size.pk}" selected' in form
    assert f'value="{satin.pk}" selected' in form
    assert f'value="{planned.pk}"' in form
    assert browser.get(f"{reverse('fitting:new-lay')}?garment={uuid4()}").status_code == 404
    assert browser.get(f"{reverse('fitting:new-lay')}?garment=skirt").status_code == 404


def test_without_a_plan_or_outlines_the_page_says_so(in_house, garment, planned, page):
    browser = page(in_house.instructor)
    address = f"{reverse('fitting:new-lay')}?garment={garment.pk}"
    planned.pattern.pieces.first().outlines.all().delete()
    shown = browser.get(address).content.decode()
    assert "No pattern has outlines of all its pieces" in shown
    change_garment(in_house.instructor, garment.pk, plan_id=None)
    assert lay_start(in_house.instructor, garment.pk).size is None


def test_a_lay_tells_of_its_garment_and_of_the_altered_paper(in_house, planned, skirt, satin, page, api):
    start = lay_start(in_house.instructor, planned.pk)
    answer = page(in_house.instructor).post(
        reverse("fitting:new-lay"),
        {
            "garment_id": str(planned.pk),
            "line_0": f"{skirt.pk}:{start.size.pk}",
            "times_0": "1",
            "cloth_id": str(satin.pk),
            "cutting_unit_mm": "100",
            "seconds": "5",
        },
    )
    lay = LayPlan.objects.get()
    assert answer["Location"] == reverse("fitting:lay", args=[lay.pk])
    assert LayLine.objects.get().garment_id == planned.pk
    search(lay)
    told = page(in_house.clerk).get(answer["Location"]).content.decode()
    assert f'href="{reverse("fitting:garment", args=[planned.pk])}">grey panel skirt</a>' in told
    assert planned.plan.result["alterations"]
    assert "The paper of “grey panel skirt” is altered by its fit plan" in told
    read = api(in_house.instructor).get(f"/api/v1/lays/{lay.pk}/").json()
    assert read["garments"] == [str(planned.pk)]
    assert read["altered"] == paper_altered([planned])
    assert "mm" not in read["altered"]
    assert " cm" not in read["altered"]
    of_it = api(in_house.clerk).get(f"/api/v1/garments/{planned.pk}/lays/").json()["results"]
    assert [(one["id"], one["checked"], one["off"]) for one in of_it] == [(str(lay.pk), 0, 0)]
    assert float(of_it[0]["length_mm"]) > 0
    assert api(in_house.clerk).get(f"/api/v1/garments/{uuid4()}/lays/").status_code == 404


def test_nothing_is_said_where_the_plan_leaves_the_paper_as_it_is(planned):
    planned.plan.result = planned.plan.result | {"alterations": [], "blends": []}
    assert paper_altered([planned]) == ""
    planned.plan = None
    assert paper_altered([planned]) == ""


def test_the_grain_of_its_pieces_reaches_the_checkpoint(in_house, planned, skirt, satin, page):
    lay = laid_for(in_house, planned, skirt, satin)

    def asked():
        found = checkpoint_states(in_house.instructor, planned.pk)
        return next(state for state in found if state.code == "lay_and_grain")

    def taped(a, b):
        check_grain(
            in_house.instructor, lay.pk, key=lay.pieces[0]["key"], distance_a_mm=a, distance_b_mm=b, line_mm=a * 4
        )  # fmt: skip

    assert asked().needs == ()
    taped(Decimal(100), Decimal(110))
    assert asked().needs == (f"In the lay “{lay.name}” 1 piece lies off the grain at the newest check.",)
    room = page(in_house.instructor)
    assert "1 off grain" in room.get(reverse("fitting:garment", args=[planned.pk])).content.decode()
    taped(Decimal(100), Decimal(100))
    assert asked().needs == ()
    row = lays_of_garment(in_house.clerk, planned.pk)[0]
    assert (row.checked, row.off, row.pieces) == (1, 0, sum(one["cut"] for one in lay.pieces))
    assert (
        f"1 of {row.pieces} checked"
        in room.get(reverse("fitting:garment", args=[planned.pk])).content.decode()
    )


def test_a_garment_is_not_laid_from_anothers_paper(in_house, garment, satin):
    other = record_pattern(in_house.instructor, **(sizes_of_a_skirt() | {"name": "Other skirt"}))
    draft_outlines(in_house.instructor, other.pk)
    for wanted, error in ((garment.pk, Refused), (uuid4(), NotHere)):
        with pytest.raises(error):
            ask_lay(
                in_house.instructor,
                cloth_id=satin.pk,
                lines=[LineGiven(other.pk, size(other, "10").pk, 1, wanted)],
            )
    assert not LayPlan.objects.exists()
