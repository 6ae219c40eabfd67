"""From a draft to the cutting table: an instructor sets a size by hand and sees at once what follows, keeps it with a
reason, approves, prints the sheet and ticks off what she has drawn. The people and the paper are invented.
"""

import io

import pytest
from playwright.sync_api import expect
from pypdf import PdfReader

from fitting.services.plans import make_plan
from studio.config.processes import worker as worker_part
from tests.conftest import PASSWORD, found_house, real_transactions
from tests.fitting.paper.invented import OLIA, client, measure, skirt
from tests.journeys.conftest import TABLET, Visitor, Watch, empty_queue, process, sign_in
from tests.journeys.pages import look
from tests.journeys.people import press

pytestmark = [pytest.mark.browser, pytest.mark.slow, real_transactions]


def test_from_a_draft_to_the_cutting_table(transactional_db: None, visitor: Visitor, watch: Watch) -> None:
    empty_queue()
    house = found_house("Thimble Row")
    with house.scope():
        who = client(house.instructor)
        measure(house.instructor, who, OLIA)
        plan = make_plan(house.instructor, client_id=who.pk, pattern_id=skirt(house.instructor).pk)
    page = visitor(TABLET)
    sign_in(page, "instructor@thimblerow.example", PASSWORD)
    page.goto(f"/plans/{plan.pk}/")
    press(page, "Set by hand")

    waist = page.get_by_role("group", name="Waist", exact=True)
    hip = page.get_by_role("group", name="Hip", exact=True)
    follows = page.locator("#follows")
    # No button is pressed: what was chosen and typed is reckoned as it stands.
    waist.get_by_label("Size").select_option("16")
    expect(follows).to_contain_text("Take in at the waist")
    hip.get_by_label("Change in all").fill("-1,2")
    expect(follows).to_contain_text("Hip: 1.2 cm less in all, set by hand")
    expect(follows).to_contain_text("not kept yet")
    assert not look(page, keyboard=False)
    waist.get_by_label("Why").fill("Likes to sit down to dinner")
    hip.get_by_label("Why").fill("Wears it close")
    press(page, "Keep")
    expect(page.get_by_text("reckoned anew")).to_be_visible()
    expect(page.get_by_text("Likes to sit down to dinner")).to_be_visible()

    press(page, "Approve for the paper")
    with process(worker_part("reports")):
        press(page, "Print for the cutting table")
        page.get_by_role("link", name="Open", exact=True).wait_for()
        address = page.get_by_role("link", name="Open", exact=True).get_attribute("href")
    assert address is not None
    sheet = PdfReader(io.BytesIO(page.request.get(address).body()))
    assert len(sheet.pages) == 1
    assert "Wears it close" in " ".join(sheet.pages[0].extract_text().split())

    page.goto(f"/plans/{plan.pk}/")
    for words in ("1 of 2 on the paper", "all on the paper"):
        page.get_by_role("button", name="Carried to the paper").first.click()
        expect(page.get_by_text(words)).to_be_visible()
    assert not look(page, keyboard=False)
