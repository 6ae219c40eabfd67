"""The paper's pages: who may open them, what they keep when something is refused."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from fitting.models import FitPlan, Pattern
from fitting.services.plans import make_plan
from tests.fitting.paper.invented import OLIA, client, measure, sizes, skirt

FACTS = {
    "step": "facts",
    "name": "Panelled skirt",
    "kind": "skirt",
    "closeness": "fitted",
    "structure": "woven",
    "basis": "finished",
    "unit": "cm",
    "seam_allowance": "1,5",
    "size_names": "10, 12",
    "measures": ["waist", "hip"],
}
CELLS = {
    "cell-10-waist": "67,5",
    "cell-12-waist": "71.5 cm",
    "cell-10-hip": "98",
    "cell-12-hip": "40 1/8 in",
}


@pytest.fixture
def paper(house):
    """A house with a client, a pattern and a plan; the scope is closed again."""
    with house.scope():
        who = client(house.instructor)
        measure(house.instructor, who, OLIA)
        pattern = skirt(house.instructor)
        plan = make_plan(house.instructor, client_id=who.pk, pattern_id=pattern.pk)
    return house, who, pattern, plan


def new_plan(who, pattern):
    return {"client": str(who.pk), "pattern": str(pattern.pk), "ease_set": "costume_text"}


def test_every_page_opens_for_who_may_and_for_nobody_else(paper, page):
    house, who, pattern, plan = paper
    everybody = {"owner": 200, "instructor": 200, "clerk": 200}
    not_the_clerk = everybody | {"clerk": 403}
    wanted = {
        reverse("fitting:patterns"): everybody,
        reverse("fitting:pattern", args=[pattern.pk]): everybody,
        reverse("fitting:new-pattern"): not_the_clerk,
        reverse("fitting:new-plan"): not_the_clerk,
        reverse("fitting:new-plan") + f"?client={who.pk}": not_the_clerk,
        reverse("fitting:plan", args=[plan.pk]): not_the_clerk,
    }
    found = {
        (address, role): page(getattr(house, role)).get(address).status_code
        for address, roles in wanted.items()
        for role in roles
    }
    assert found == {
        (address, role): code for address, roles in wanted.items() for role, code in roles.items()
    }


def test_somebody_who_is_not_signed_in_is_asked_to(paper, client):
    response = client.get(reverse("fitting:plan", args=[paper[3].pk]))
    assert response.status_code == 302
    assert "/sign-in/" in response["Location"]


def test_another_studio_finds_nothing(paper, other_house, page):
    _, who, pattern, plan = paper
    browser = page(other_house.owner)
    assert browser.get(reverse("fitting:pattern", args=[pattern.pk])).status_code == 404
    assert browser.get(reverse("fitting:plan", args=[plan.pk])).status_code == 404
    assert browser.post(reverse("fitting:plan", args=[plan.pk])).status_code == 404
    assert browser.get(reverse("fitting:new-plan") + f"?client={who.pk}").status_code == 404
    assert pattern.name not in browser.get(reverse("fitting:patterns")).content.decode()


def test_the_clerk_sees_the_paper_but_no_plan_and_nothing_to_change(paper, page):
    house, who, pattern, _ = paper
    text = page(house.clerk).get(reverse("fitting:pattern", args=[pattern.pk])).content.decode()
    assert "106.0 cm" in text
    assert who.name not in text
    assert "Plan this for a client" not in text
    assert "Change name or notes" not in text
    assert page(house.clerk).post(reverse("fitting:pattern", args=[pattern.pk])).status_code == 403


def test_an_empty_list_says_what_to_do(house, page):
    assert "Record the first pattern" in page(house.owner).get(reverse("fitting:patterns")).content.decode()
    assert "An instructor records" in page(house.clerk).get(reverse("fitting:patterns")).content.decode()
    assert "No client is recorded" in page(house.owner).get(reverse("fitting:new-plan")).content.decode()


def test_a_pattern_is_recorded_in_two_steps(house, page):
    browser = page(house.instructor)
    grid = browser.post(reverse("fitting:new-pattern"), FACTS)
    assert grid.status_code == 200
    assert 'name="cell-12-hip"' in grid.content.decode()
    done = browser.post(reverse("fitting:new-pattern"), FACTS | CELLS | {"step": "grid"})
    with house.scope():
        pattern = Pattern.objects.get()
    assert done["Location"] == reverse("fitting:pattern", args=[pattern.pk])
    text = browser.get(done["Location"]).content.decode()
    assert "101.9 cm" in text  # 40 1/8 in = 101.92 cm
    assert "1.5 cm" in text


def test_what_was_typed_stays_and_each_reason_stands_by_its_cell(house, page):
    browser = page(house.instructor)
    wrong = CELLS | {"cell-12-hip": "97", "cell-10-waist": "sixty"}
    response = browser.post(reverse("fitting:new-pattern"), FACTS | wrong | {"step": "grid"})
    assert response.status_code == 400
    form = response.context["form"]
    assert set(form.errors) == {"cell-10-waist"}  # the order can't be judged before every cell is read
    text = response.content.decode()
    assert 'value="sixty"' in text
    assert 'value="71.5 cm"' in text
    response = browser.post(
        reverse("fitting:new-pattern"), FACTS | wrong | {"cell-10-waist": "60", "step": "grid"}
    )
    assert response.status_code == 400
    assert "the hip of size 12, 97.0 cm, is less than" in str(response.context["form"].errors["cell-12-hip"])
    with house.scope():
        assert not Pattern.objects.exists()


def test_an_empty_cell_is_named(house, page):
    response = page(house.instructor).post(
        reverse("fitting:new-pattern"), FACTS | CELLS | {"cell-10-hip": "", "step": "grid"}
    )
    assert "Type the hip of size 10." in response.content.decode()


def test_going_back_to_the_facts_keeps_the_cells(house, page):
    browser = page(house.instructor)
    back = browser.post(reverse("fitting:new-pattern"), FACTS | CELLS | {"step": "back"})
    assert back.status_code == 200
    assert 'name="cell-12-hip" value="40 1/8 in"' in back.content.decode()
    again = browser.post(reverse("fitting:new-pattern"), FACTS | CELLS | {"size_names": "8, 10, 12"})
    text = again.content.decode()
    assert 'value="40 1/8 in"' in text
    assert "Type the" not in text  # the new column is not judged before it was seen


def test_a_fact_that_is_refused_leads_back_to_the_facts(paper, page):
    house, *_ = paper
    response = page(house.instructor).post(reverse("fitting:new-pattern"), FACTS | CELLS | {"step": "grid"})
    assert response.status_code == 400
    assert "already a pattern named Panelled skirt" in str(response.context["form"].errors["name"])
    bad = FACTS | {"seam_allowance": "1,234", "size_names": "10, 10"}
    response = page(house.instructor).post(reverse("fitting:new-pattern"), bad)
    assert "two ways" in str(response.context["form"].errors["seam_allowance"])
    assert "named twice" in str(response.context["form"].errors["size_names"])
    assert 'value="1,234"' in response.content.decode()


def test_name_and_notes_are_changed_and_a_stale_page_is_refused(paper, page):
    house, _, pattern, _ = paper
    browser, address = page(house.instructor), reverse("fitting:pattern", args=[pattern.pk])
    first = browser.post(address, {"version": 1, "name": "Six panels", "notes": "On the grain."})
    assert first.status_code == 302
    second = browser.post(address, {"version": 1, "name": "Seven panels", "notes": ""})
    assert second.status_code == 400
    assert "changed by somebody else" in second.content.decode()
    assert "Six panels" in browser.get(address).content.decode()


def test_a_plan_is_made_read_and_approved(paper, page):
    house, who, pattern, _ = paper
    browser = page(house.instructor)
    assert who.name in browser.get(reverse("fitting:new-plan")).content.decode()
    made = browser.post(reverse("fitting:new-plan"), new_plan(who, pattern))
    text = browser.get(made["Location"]).content.decode()
    assert "Draw a smooth line from size 14 at the waist to size 16 at the hip" in text
    assert "Central Washington University" in text
    assert "Approve for the paper" in text
    approved = browser.post(made["Location"])
    assert approved["Location"] == made["Location"]
    text = browser.get(made["Location"]).content.decode()
    assert "Approved for the paper" in text
    assert "Approve for the paper" not in text
    assert browser.post(made["Location"]).status_code == 409


def test_what_is_missing_is_named_with_the_way_to_it(paper, page):
    house, _, pattern, _ = paper
    with house.scope():
        tall = client(house.instructor, "Bela Sand")
        measure(house.instructor, tall, {"waist_girth": "80"})
    response = page(house.instructor).post(reverse("fitting:new-plan"), new_plan(tall, pattern))
    assert response.status_code == 400
    text = response.content.decode()
    assert "This plan needs the hip girth, which has not been taken for Bela Sand." in text
    assert reverse("studio:new-measuring", args=[tall.pk]) in text


def test_a_plan_older_than_the_readings_says_so(paper, page):
    house, who, _, plan = paper
    with house.scope():
        measure(house.instructor, who, {"hip_girth": "105"}, at=timezone.now() - timedelta(minutes=1))
    text = page(house.instructor).get(reverse("fitting:plan", args=[plan.pk])).content.decode()
    assert "The body has been measured since" in text
    assert "Hip girth has a newer reading" in text
    assert "Plan again" in text


def test_pages_take_a_constant_number_of_queries(paper, page, count_queries):
    house, who, pattern, _ = paper
    browser = page(house.instructor)
    addresses = [
        reverse("fitting:patterns"),
        reverse("fitting:pattern", args=[pattern.pk]),
        reverse("fitting:new-plan") + f"?client={who.pk}",
    ]
    before = [count_queries(lambda at=at: browser.get(at)) for at in addresses]
    with house.scope():
        for number in range(20):
            skirt(house.instructor, f"Skirt {number}", sizes=sizes({"10": {"waist": 60, "hip": 90}}))
            make_plan(house.instructor, client_id=who.pk, pattern_id=pattern.pk)
        plan = FitPlan.objects.order_by("-id").first()
    assert [count_queries(lambda at=at: browser.get(at)) for at in addresses] == before
    assert count_queries(lambda: browser.get(reverse("fitting:plan", args=[plan.pk]))) <= 16
