"""Every page that can be reached by links, as each role sees it, and what a client and a stranger see."""

from datetime import timedelta
from urllib.parse import urlsplit

import pytest
from django.utils import timezone
from playwright.sync_api import Page

from fitting.models import FitReport, Garment, ReportLink
from fitting.services import reports
from studio.config.demo import scenario, story
from studio.config.demo.story import Demo
from studio.platform import links
from studio.platform.database.scope import studio_scope
from studio.platform.jobs import run_job
from studio.platform.models import Studio
from studio.platform.services import people
from tests.conftest import PASSWORD, found_house, real_transactions
from tests.journeys.conftest import DESK, TABLET, TELEPHONE, Visitor, Watch, sign_in
from tests.journeys.pages import by_axe, look, reachable

pytestmark = [pytest.mark.browser, pytest.mark.slow, real_transactions]


@pytest.fixture
def demo(transactional_db: None) -> Demo:
    """The invented studio, its report made."""
    told = story.tell()
    assert run_job(told.owner.studio_id, told.job_id) == "done"
    return told


def at_both_sizes(page: Page, *, axe_at_desk: bool) -> list[str]:
    found = []
    for size, keyboard, axe in ((TABLET, True, True), (DESK, False, axe_at_desk)):
        page.set_viewport_size(size)
        found += [f"{size['width']}: {words}" for words in look(page, keyboard=keyboard, axe=axe)]
    page.set_viewport_size(TABLET)
    return found


def crawl(page: Page, *starts: str, axe_at_desk: bool) -> tuple[set[str], list[str]]:
    seen, amiss = set(), []
    for pattern in reachable(page, "/", *starts):
        seen.add(pattern)
        amiss += [f"{pattern} {words}" for words in at_both_sizes(page, axe_at_desk=axe_at_desk)]
    return seen, amiss


ROLES = {"owner": scenario.OWNER, "instructor": scenario.INSTRUCTOR, "clerk": scenario.CLERK}
# Pages by which the crawl is known to have come through the whole house; what a role may not open is not linked.
EVERYBODY = {"/", "/bench/", "/past-fits/", "/clients/", "/clients/*/", "/garments/*/", "/cloth/*/", "/seams/*/",
             "/patterns/*/", "/reports/*/", "/jobs/*/", "/tokens/"}  # fmt: skip
TEACHING = {"/clients/*/measure/", "/measurings/*/", "/readings/*/correct/", "/plans/*/", "/fittings/*/",
            "/seams/trials/new/?version", "/cloth/*/change/", "/patterns/new/", "/seams/new/"}  # fmt: skip
OWNING = {"/members/", "/clients/*/erase/"}


@pytest.mark.parametrize(
    ("role", "opens", "not_linked"),
    [
        ("owner", EVERYBODY | TEACHING | OWNING, set()),
        ("instructor", EVERYBODY | TEACHING, OWNING),
        ("clerk", EVERYBODY, TEACHING | OWNING),
    ],
)
def test_every_page_of_a_role(
    demo: Demo, visitor: Visitor, role: str, opens: set[str], not_linked: set[str]
) -> None:
    page = visitor(TABLET)
    sign_in(page, ROLES[role][1], scenario.PASSWORD)
    # The owner sees every page; what another role does not see is left out at every width alike.
    # Of garments and clients the ones with the longest pages stand for all.
    with studio_scope(demo.owner.studio_id):
        client = Garment.objects.get(pk=demo.garment_id).client_id
    starts = (f"/garments/{demo.garment_id}/", f"/clients/{client}/")
    seen, amiss = crawl(page, *starts, axe_at_desk=role == "owner")
    page.goto("/")
    page.locator(".member summary").click()
    amiss += [f"the member's menu: {words}" for words in by_axe(page)]
    assert opens <= seen, f"not reached: {sorted(opens - seen)}; reached {sorted(seen)}"
    assert not not_linked & seen
    assert not amiss, "\n".join(amiss)


def test_every_page_of_a_studio_that_is_still_empty(transactional_db: None, visitor: Visitor) -> None:
    found_house("Quiet Loom")
    page = visitor(TABLET)
    sign_in(page, "owner@quietloom.example", PASSWORD)
    seen, amiss = crawl(page, axe_at_desk=False)
    assert {"/", "/bench/", "/clients/", "/cloth/", "/seams/", "/patterns/", "/past-fits/"} <= seen
    assert not amiss, "\n".join(amiss)


def test_the_pages_of_a_clients_link(demo: Demo, visitor: Visitor) -> None:
    with studio_scope(demo.owner.studio_id):
        made = [reports.make_link(demo.owner, demo.report_id, days=30) for _ in range(3)]
        ReportLink.objects.filter(pk=made[1].link.pk).update(expires_at=timezone.now() - timedelta(days=1))
        reports.revoke_link(demo.owner, made[2].link.pk)
    amiss = []
    for one, words in zip(
        made, ("Open my fit summary", "opened your summary until", "closed this link"), strict=True
    ):
        page = visitor(TELEPHONE)
        page.goto(one.address)
        assert page.get_by_text(words).is_visible()
        amiss += [f"{words}: {found}" for found in look(page)]
    page = visitor(TELEPHONE)
    page.goto(made[0].address)
    page.get_by_role("button", name="Open my fit summary").click()
    assert page.get_by_role("heading", level=1).inner_text().lower() == scenario.SKIRT_WORDS
    for size in (TELEPHONE, TABLET, DESK):
        page.set_viewport_size(size)
        amiss += [f"summary at {size['width']}: {found}" for found in look(page, keyboard=size == TELEPHONE)]
    assert not amiss, "\n".join(amiss)


def test_pages_for_nobody_in_particular(demo: Demo, visitor: Visitor, watch: Watch) -> None:
    """Signing in, joining, choosing a studio, and the pages that say no."""
    with studio_scope(demo.owner.studio_id):
        invited = people.invite_member(demo.owner, name="Rune", email="rune@halyard.example", role="clerk")
        joining = links.address("platform:join", links.sign("join", demo.owner.studio_id, invited.pk))
        client = FitReport.objects.get(pk=demo.report_id).client_id
    page = visitor(TABLET)
    amiss: list[str] = []

    def see(address: str, status: int = 200) -> None:
        watch.expect(urlsplit(address).path, status)
        answer = page.goto(address)
        assert answer is not None
        assert answer.status == status, f"{address} answers {answer.status}"
        amiss.extend(f"{address} {words}" for words in at_both_sizes(page, axe_at_desk=True))

    see("/sign-in/")
    see(joining)
    see("/fit/nothing:like:this/", 404)
    see("/nothing-here/", 404)
    sign_in(page, ROLES["clerk"][1], scenario.PASSWORD)
    see("/studios/")
    see(f"/clients/{client}/measure/", 403)
    see("/clients/01900000-0000-7000-8000-000000000000/", 404)
    assert not amiss, "\n".join(amiss)


@pytest.mark.parametrize("unit", ["cm", "in"])
def test_refused_forms_are_pages_too(demo: Demo, visitor: Visitor, watch: Watch, unit: str) -> None:
    """Each form sent off empty, or with text where a length should be, comes back with its sentences."""
    with studio_scope(demo.owner.studio_id):
        client = FitReport.objects.get(pk=demo.report_id).client_id
        cloth = Garment.objects.get(pk=demo.garment_id).cloth_id
        Studio.objects.filter(pk=demo.owner.studio_id).update(unit=unit)
    page = visitor(TABLET)
    sign_in(page, ROLES["owner"][1], scenario.PASSWORD)
    amiss: list[str] = []
    for address, button in {
        "/clients/new/": "Record the client",
        f"/clients/{client}/measure/": "Record the measuring",
        "/patterns/new/": "To the size table",
        "/cloth/new/": "Record the cloth",
        f"/cloth/{cloth}/test/wash/": "Keep the test",
        "/seams/new/": "Write the recipe",
        "/seams/trials/new/": "Judge the sample",
        f"/garments/new/?client={client}": "Open the garment",
        "/members/": "Make the link",
        "/tokens/": "Make the token",
    }.items():
        watch.expect(address.partition("?")[0], 400)
        page.goto(address)
        for box in page.locator("main input[type=text]:not([readonly])").all():
            if box.is_visible() and box.get_attribute("inputmode") in {"decimal", "numeric"}:
                box.fill("a hand's breadth")
        with page.expect_navigation() as sent:
            page.get_by_role("button", name=button, exact=True).click()
        assert sent.value.status == 400, address
        assert page.locator(".form-errors, .error").first.is_visible(), address
        amiss += [f"{address} {words}" for words in look(page)]
    assert not amiss, "\n".join(amiss)
