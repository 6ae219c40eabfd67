"""From a size table to the cutting table: outlines drafted, a drawing read, a lay found by the worker, moved by hand
with pointer and keys, printed, and its grain checked. The paper and the cloth are invented.
"""

import io
import random

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader
from shapely import MultiPoint, Polygon

from fitting.models import LayDrawing, LayPlan
from fitting.services.patterns import record_pattern
from studio.config.processes import worker as worker_part
from tests.conftest import PASSWORD, found_house, real_transactions
from tests.fitting.lay.conftest import make_cloth, sizes_of_a_skirt
from tests.fitting.lay.test_exchange import dxf
from tests.journeys.conftest import TABLET, Visitor, Watch, empty_queue, process, sign_in
from tests.journeys.pages import look
from tests.journeys.people import press

pytestmark = [pytest.mark.browser, pytest.mark.slow, real_transactions]


def test_from_a_size_table_to_the_cutting_table(
    transactional_db: None, visitor: Visitor, watch: Watch
) -> None:
    empty_queue()
    house = found_house("Thimble Row")
    with house.scope():
        record_pattern(house.instructor, **sizes_of_a_skirt())
        make_cloth(house.instructor, "Duchess satin", width=1370, direction="sheen")
    page = visitor(TABLET)
    sign_in(page, "instructor@thimblerow.example", PASSWORD)

    page.goto("/patterns/")
    page.get_by_role("link", name="Panel skirt").click()
    page.get_by_role("link", name="Outlines").click()
    press(page, "Draft all sizes")
    expect(page.get_by_text("6 outlines are drafted")).to_be_visible()
    expect(page.get_by_text("Front side and Back side are equally long")).to_be_visible()
    assert not look(page, keyboard=False)

    # A drawing comes with its questions; nothing is used before they are answered.
    page.get_by_label("SVG or DXF").set_input_files(
        {"name": "yoke.dxf", "mimeType": "image/vnd.dxf", "buffer": dxf(unit="", heads=False)}
    )
    press(page, "Read it")
    expect(page.get_by_text("2 questions open")).to_be_visible()
    assert not look(page, keyboard=False)
    page.get_by_label("Millimetres").check()
    page.get_by_label("Yes, either way where the cloth allows it").check()
    press(page, "Keep the answers for later")
    expect(page.get_by_text("every question is answered")).to_be_visible()

    page.goto("/lays/new/")
    assert not look(page, keyboard=False)
    page.get_by_label("Pattern and size").select_option(label="Panel skirt, size 12")
    page.get_by_label("Cloth", exact=True).select_option(label="Duchess satin")
    page.get_by_label("Time for the search").select_option(label="A quick look, 5 seconds")
    with process(worker_part("general")):
        press(page, "Find the lay")
        expect(page.get_by_role("img", name="Lay one way")).to_be_visible()  # the page looks again by itself
    expect(page.get_by_text("only seen when it is worn")).to_be_visible()
    expect(page.get_by_text("To buy:")).to_be_visible()
    assert not look(page, keyboard=False)

    address = page.url
    with process(worker_part("reports")):
        press(page, "Sheet for the table")
        page.get_by_role("link", name="Open", exact=True).wait_for()
        drawn = page.get_by_role("link", name="Open", exact=True).get_attribute("href")
    page.goto(address)
    expect(page.get_by_role("link", name="Sheet of")).to_be_visible()
    assert drawn is not None
    sheet = PdfReader(io.BytesIO(page.request.get(drawn).body()))
    assert "scale 1 : 10" in " ".join(sheet.pages[0].extract_text().split())

    move_by_hand(page)
    with house.scope():
        lay = LayPlan.objects.get()
        kept = LayDrawing.objects.get(lay=lay, number=lay.chosen)
        assert kept.way == "by_hand"

    page.get_by_role("link", name="Waistband").click()
    page.get_by_label("From the top of the grainline").fill("30,1")
    page.get_by_label("From its foot").fill("30")
    page.get_by_label("Between the two places").fill("40")
    press(page, "Record the check")
    expect(page.get_by_text("it may be cut")).to_be_visible()
    assert not look(page, keyboard=False)


def agrees_with_the_server(page: Page) -> None:
    """The page's own look at two outlines says what Shapely says, for 300 pairs thrown by chance."""
    chance = random.Random(25)
    pairs, wanted = [], []
    while len(pairs) < 300:
        shapes = []
        for _ in range(2):
            x, y = chance.uniform(0, 300), chance.uniform(0, 300)
            dots = [(x + chance.uniform(0, 200), y + chance.uniform(0, 200)) for _ in range(7)]
            shapes.append(MultiPoint(dots).convex_hull if chance.random() < 0.7 else notched(x, y, chance))
        if chance.random() < 0.05:
            shapes[1] = shapes[0]
        common = shapes[0].intersection(shapes[1])
        if common.is_empty or not common.buffer(-0.2).is_empty:  # what only grazes may be told either way
            pairs.append([[list(point) for point in shape.exterior.coords[:-1]] for shape in shapes])
            wanted.append(not common.is_empty)
    found = page.evaluate(
        """async (pairs) => {
             const loaded = performance.getEntriesByType('resource').map(one => one.name);
             const { overlap } = await import(loaded.find(name => name.includes('/lay/touch')));
             return pairs.map(([a, b]) => overlap(a, b));
           }""",
        pairs,
    )
    assert found == wanted
    assert 50 < sum(wanted) < 250


def notched(x: float, y: float, chance: random.Random) -> Polygon:
    wide, high = chance.uniform(60, 200), chance.uniform(60, 200)
    third, step = y + high / 3, x + wide / 3
    return Polygon([(x, y), (x + wide, y), (x + wide, third), (step, third), (step, y + high), (x, y + high)])


def move_by_hand(page: Page) -> None:
    press_link = page.get_by_role("link", name="Move pieces by hand")
    press_link.click()
    state, keep = page.locator("#hand-state"), page.get_by_role("button", name="Keep this lay")
    expect(state).to_contain_text("every rule is kept")
    expect(keep).to_be_disabled()
    assert not look(page, keyboard=False)
    agrees_with_the_server(page)
    # By keys: over the edge is told at once, and taken back.
    page.get_by_role("button", name="Waistband", exact=True).click()
    for _ in range(16):
        page.keyboard.press("Shift+ArrowUp")
    expect(state).to_contain_text("Waistband reaches")
    expect(keep).to_be_disabled()
    page.keyboard.press("r")
    expect(state).to_contain_text("stays this way up")
    for _ in range(16):
        page.get_by_role("button", name="Take back").click()
    expect(state).to_contain_text("every rule is kept")
    # By pointer: dragged beyond the others, where nothing lies, it may be kept.
    piece = page.locator(".lying[aria-label=Waistband] .cut-line")
    piece.scroll_into_view_if_needed()
    box = piece.bounding_box()
    cloth = page.locator("#hand-figure rect").first.bounding_box()
    assert box is not None
    assert cloth is not None
    page.mouse.move(box["x"] + 8, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(cloth["x"] + cloth["width"] - box["width"] - 4 + 8, box["y"] + box["height"] / 2, steps=6)
    page.mouse.up()
    if keep.is_disabled():  # another piece lay in its way: by keys it goes on until it is free
        page.get_by_role("button", name="Waistband").click()
        for _ in range(12):
            if keep.is_enabled():
                break
            page.keyboard.press("Shift+ArrowRight")
    expect(state).to_contain_text("every rule is kept")
    keep.click()
    expect(page.get_by_text("Your lay keeps every rule")).to_be_visible()
