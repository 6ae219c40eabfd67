"""The whole job as it is done: an instructor at the tablet, the client at her telephone, the clerk at the counter.

The people, the paper and every figure are invented.
"""

import hashlib
import io
import re
import time
from collections.abc import Callable
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from studio.calc.units import format_length
from studio.config.processes import worker as worker_part
from studio.models import Client
from studio.queries.measuring import body_of
from tests.conftest import PASSWORD, House, found_house, real_transactions
from tests.journeys.conftest import DESK, TABLET, TELEPHONE, Visitor, Watch, empty_queue, process, sign_in
from tests.journeys.pages import reachable
from tests.journeys.people import choose, field, press, tick, unfold, write

pytestmark = [pytest.mark.browser, pytest.mark.slow, real_transactions]

CLIENT = "Éloïse Tannenbaum"
GARMENT = "moss green wool skirt"
CLOTH = "Moss wool twill"
PATTERN = "Six-gore skirt"
RECIPE = "Side seam, medium twill"
THREAD = "Spun polyester, tex 30"
MACHINE = "Window machine"

IN_CENTIMETRES = {  # measure: first take, second take
    "Height": ("167,3", ""),
    "Neck base girth": ("38.6", ""),
    "Shoulder length, right": ("12.3", ""),
    "Chest girth (high bust)": ("91.3", "91.7"),
    "Bust girth": ("97.3", "96.9"),
    "Waist girth": ("79.3", "79.7"),
}
IN_INCHES = {
    "Hip girth": ("41 3/8", "41 1/4"),
    "Back waist length": ("16 1/8", ""),
    "Inside leg": ("29 5/8", ""),
    "Arm length, right": ("23 1/8", ""),
    "Upper arm girth": ("11 7/8", ""),
    "Wrist girth": ("6 3/8", ""),
}
SIZES = ("36", "38", "40", "42", "44")
SIZE_TABLE = {  # of the finished skirt, in cm
    "Waist": ("70", "74", "78", "82", "86"),
    "Hip": ("98", "102", "106", "110", "114"),
    "Waist to hip": ("20", "20.5", "21", "21.5", "22"),
}


@pytest.fixture
def house(transactional_db: None) -> House:
    return found_house("Quiet Loom")


def test_from_the_first_visit_to_the_counter_a_year_later(
    house: House, visitor: Visitor, watch: Watch, tmp_path: Path
) -> None:
    tablet = visitor(TABLET)
    sign_in(tablet, "instructor@quietloom.example", PASSWORD)

    record_the_client(tablet)
    client = urlsplit(tablet.url).path
    measure_her(tablet)
    record_the_pattern(tablet)
    record_the_cloth(tablet)
    fill_the_shelf(tablet)
    write_the_recipe(tablet)
    try_the_seam(tablet)
    look_up_the_seam(tablet)
    open_the_garment(tablet, client)
    garment = urlsplit(tablet.url).path
    plan_the_fit(tablet)
    come_to_cutting(tablet, garment)
    baste_and_fit(tablet, garment)
    pdf, sha256 = issue_the_report(tablet, garment)
    pages = PdfReader(io.BytesIO(pdf)).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split()).lower()
    assert CLIENT.lower() in text
    assert GARMENT in text

    address = make_the_link(tablet)
    read_at_the_telephone(visitor(TELEPHONE), address, sha256, tmp_path)

    counter = visitor(DESK)
    sign_in(counter, "clerk@quietloom.example", PASSWORD)
    look_up_at_the_counter(counter)
    watch.expect(f"{client}measure/", 403)
    refused = counter.goto(f"{client}measure/")
    assert refused is not None
    assert refused.status == 403
    expect(counter.get_by_role("heading", level=1)).to_have_text("Not included in your role")
    figures = figures_of_the_body(house)
    sees_no_body_figure(counter, figures)
    tablet.goto(client)
    assert len(set(any_of(figures).findall(text_of(tablet)))) >= 12  # the instructor does see them


# --- body -----------------------------------------------------------------------------------------------------------


def record_the_client(page: Page) -> None:
    press(page, "Clients")
    press(page, "New client")
    write(page, "Name", CLIENT)
    write(page, "Telephone", "+44 20 7946 0777")
    write(page, "Email", "eloise@post.example")
    field(page, "Birthday").fill("1988-04-12")
    write(page, "Who consents to the measuring", CLIENT)
    press(page, "Record the client")
    expect(page.get_by_role("heading", level=1)).to_have_text(CLIENT)
    expect(
        page.get_by_role("region", name="Consent").or_(page.locator("section", has_text="given"))
    ).to_be_visible()


def measure_her(page: Page) -> None:
    """Twelve measures, four of them twice; the second half with the inch tape."""
    press(page, "Measure")

    def take(readings: dict[str, tuple[str, str]]) -> None:
        for name, (first, second) in readings.items():
            page.get_by_label(name, exact=True).click()
            page.keyboard.type(first)
            if second:
                page.keyboard.press("Tab")
                page.keyboard.type(second)

    take(IN_CENTIMETRES)
    page.get_by_label("inches with eighths", exact=True).check()
    # What was typed by the other tape says so now; it is not read as inches.
    expect(page.get_by_label("Waist girth", exact=True)).to_have_value("79.3 cm")
    take(IN_INCHES)
    write(page, "Which tape", "fibreglass, window drawer")
    press(page, "Record the measuring")
    readings = page.get_by_role("region", name="Table of readings")
    expect(readings.locator("tbody tr")).to_have_count(16)
    for typed in ("167,3 cm", "79.7 cm", "41 3/8", "6 3/8"):
        expect(readings.get_by_role("cell", name=typed).last).to_be_visible()

    # A length that only skirts ask for, from the skirt's own set.
    press(page, "Measure again")
    page.get_by_role("navigation", name="Sets of measures").get_by_role("link", name="Skirt").click()
    page.get_by_label("Waist to hip", exact=True).click()
    page.keyboard.type("21.3")
    page.keyboard.press("Tab")
    page.keyboard.type("21.1")
    press(page, "Record the measuring")
    expect(page.get_by_role("status")).to_contain_text("Recorded.")


# --- paper ----------------------------------------------------------------------------------------------------------


def record_the_pattern(page: Page) -> None:
    press(page, "Patterns")
    press(page, "Record a pattern")
    write(page, "Name", PATTERN)
    choose(page, "Garment", "Skirt")
    write(page, "Sizes, small to large", ", ".join(SIZES))
    tick(page, *SIZE_TABLE)
    write(page, "Seam allowance on the paper", "1,5")
    write(page, "Drawn for a height of", "168")
    press(page, "To the size table")
    expect(page.get_by_role("heading", level=1)).to_have_text(f"Size table of {PATTERN}")
    # Down the grid by the Tab key, as one copies a table.
    page.get_by_label(f"Waist, size {SIZES[0]}, in cm").click()
    for row in SIZE_TABLE.values():
        for typed in row:
            page.keyboard.type(typed)
            page.keyboard.press("Tab")
    press(page, "Record the pattern")
    table = page.get_by_role("region", name="Size table")
    expect(table.get_by_role("row", name=re.compile("^Hip"))).to_contain_text("106")


# --- cloth and seams ------------------------------------------------------------------------------------------------


def record_the_cloth(page: Page) -> None:
    press(page, "Cloth")
    press(page, "Record a cloth" if page.get_by_role("link", name="Record a cloth").count() else "New cloth")
    write(page, "Name", CLOTH)
    tick(page, "Woven")
    write(page, "Weave or knit", "twill")
    choose(page, "Fibre 1", "wool")
    write(page, "Percent of fibre 1", "100")
    write(page, "Weight", "260")
    write(page, "Thickness of one layer", "0,6")
    write(page, "Width", "150")
    write(page, "Usable width", "147")
    tick(page, "Plain, tested two-way")
    press(page, "Record the cloth")
    expect(page.get_by_role("heading", level=1)).to_have_text(CLOTH)
    for way, (relaxed, stretched, released) in {
        "lengthwise": ("10", "10.2", "10"),
        "crosswise": ("10", "10.5", "10.1"),
    }.items():
        test = unfold(page, "Test the stretch")
        tick(test, way)
        write(test, "Relaxed", relaxed)
        write(test, "Stretched", stretched)
        write(test, "Let go", released)
        press(test, "Keep the test")
        expect(page.get_by_role("status")).to_contain_text("The test is kept.")
    test = unfold(page, "Test the wash")
    tick(test, "lengthwise")
    write(test, "Before", "50")
    write(test, "After", "49.2")
    press(test, "Keep the test")
    tests = page.get_by_role("region", name="Newest tests")
    expect(tests.get_by_role("row", name=re.compile("^Stretch crosswise"))).to_contain_text(
        re.compile(r"5\s*%")
    )
    expect(tests.get_by_role("row", name=re.compile("^Wash lengthwise"))).to_contain_text(
        re.compile(r"[−-]1\.6\s*%")
    )


def fill_the_shelf(page: Page) -> None:
    press(page, "Seams")
    press(page, "Thread, needles, machines")
    thread = unfold(page, "Add a thread")
    write(thread, "Name", THREAD)
    choose(thread, "Fibre", "polyester")
    write(thread, "Number", "100")
    write(thread, "Stretch at break", "17")
    press(thread, "Add the thread")
    needle = unfold(page, "Add a needle")
    write(needle, "Size", "80")
    choose(needle, "Point", "Round")
    press(needle, "Add the needle")
    machine = unfold(page, "Add a machine")
    write(machine, "Name", MACHINE)
    machine.get_by_label(re.compile(r"^\s*301")).check()
    machine.get_by_label(re.compile(r"^\s*304")).check()
    write(machine, "Widest stitch", "7")
    press(machine, "Add the machine")
    expect(page.get_by_role("region", name="Machines")).to_contain_text(MACHINE)


def write_the_recipe(page: Page) -> None:
    press(page, "Seams")
    press(page, "New recipe")
    write(page, "Name", RECIPE)
    choose(page, "Seam class", "1 ")
    tick(page, "Woven")
    choose(page, "Stitch", "301")
    write(page, "Stitch length", "2,5")
    choose(page, "Needle", "80")
    choose(page, "Needle thread", THREAD)
    write(page, "Tension", "even, needle thread 4")
    press(page, "Write the recipe")
    expect(page.get_by_role("heading", level=1)).to_have_text(RECIPE)
    expect(page.get_by_text("it is untested")).to_be_visible()


def try_the_seam(page: Page) -> None:
    press(page, "Record a trial")
    choose(page, "Recipe", RECIPE)
    choose(page, "Cloth", CLOTH)
    choose(page, "Machine", MACHINE)
    write(page, "Before sewing", "20")
    write(page, "After sewing", "19.9")
    write(page, "Stretched", "20.6")
    tick(page, "The seam would go no further")
    write(page, "Smoothness", "4,5")
    write(page, "Skipped stitches", "0")
    tick(page, "Threads meet inside the cloth", "No damage")
    press(page, "Judge the sample")
    proposal = page.locator("#proposal")
    expect(proposal.locator(".panel-head .chip")).to_have_text(re.compile("passes", re.IGNORECASE))
    expect(proposal).to_contain_text("Nothing is kept yet.")
    press(proposal, "Keep the trial")
    expect(page.get_by_role("status")).to_contain_text("The trial is kept.")


def look_up_the_seam(page: Page) -> None:
    """Which seam for this cloth? The one that was just proven, and none for a hem."""
    press(page, CLOTH)
    answers = page.locator("#answers")
    expect(answers.get_by_role("article").first).to_contain_text(RECIPE)
    choose(page, "To", "Hem")
    expect(answers).not_to_contain_text(RECIPE)
    choose(page, "To", "Join")
    expect(answers.get_by_role("article").first).to_contain_text(RECIPE)


# --- garment --------------------------------------------------------------------------------------------------------


def open_the_garment(page: Page, client: str) -> None:
    page.goto(client)
    press(page, "New garment")
    write(page, "What is it?", GARMENT)
    choose(page, "Kind of garment", "Skirt")
    choose(page, "Pattern", PATTERN)
    choose(page, "Cloth", CLOTH)
    press(page, "Open the garment")
    expect(page.get_by_role("heading", level=1)).to_have_text(GARMENT.capitalize())


def plan_the_fit(page: Page) -> None:
    press(page, "Make the plan")
    press(page, "Make the plan")
    expect(page.get_by_role("heading", level=1)).to_have_text(f"{PATTERN} for {CLIENT}")
    expect(page.get_by_role("heading", name="Size to cut")).to_be_visible()
    press(page, "Approve for the paper")
    expect(page.locator(".lede .chip")).to_have_text("Approved for the paper")


def come_to_cutting(page: Page, garment: str) -> None:
    page.goto(garment)
    seams = page.get_by_role("region", name="Seams", exact=True)
    form = unfold(seams, "Choose a seam")
    write(form, "Which seam?", "side seams")
    choose(form, "Sewn by the recipe", RECIPE)
    press(form, "Choose")
    expect(page.get_by_role("region", name="Table of seams").get_by_text("passes")).to_be_visible()
    expect(page.get_by_text("Stop before cutting.")).to_be_visible()
    for name in ("Body measured", "Paper altered", "Cloth known", "Lay and grain"):
        now = page.locator(".way > .now")
        expect(now).to_contain_text(name)
        if name == "Lay and grain":  # the next thing in hand is a blade: said by name, told at a tap
            blades = now.get_by_text("carry shears with the points closed")
            expect(blades).to_be_hidden()
            unfold(now, "Take care: blades; pins and weights")
            expect(blades).to_be_visible()
        press(now, "Done")
    expect(page.get_by_text("Cutting may begin.")).to_be_visible()
    press(page.locator(".way > .now"), "Done")  # the seams are proven


def baste_and_fit(page: Page, garment: str) -> None:
    press(page, "Hold a fitting")
    tick(page, "Basted")
    write(page, "Worn with it", "flat shoes, thin blouse")
    press(page, "Begin")

    press(page, "Note without the figure")
    expect(page.get_by_role("heading", name="What is seen")).to_be_visible()
    choose(page, "Where", "Waist")
    press(page, "What may it mean?")
    write(page, "In your own words", "Sits level, one finger fits inside the band")
    choose(page, "What is done about it", "Leave as it is")
    press(page, "Note it")
    page.get_by_label("Hip, left").first.click()  # tapped on the figure
    tick(page, "Both")
    page.get_by_role("radio", name=re.compile("^Strain lines, level")).check()
    press(page, "What may it mean?")
    expect(page.get_by_role("radio", name=re.compile("^More width at the hip"))).to_be_checked()
    write(page, "In your own words", "Pulls across the front at a long step")
    press(page, "Note it")

    sign = page.get_by_role("region", name="Sign-off")
    expect(sign).to_contain_text("1 note still to decide: hip.")
    expect(sign.get_by_role("button")).to_have_count(0)
    hip = page.locator(".notes > li", has_text="Pulls across the front")
    decision = unfold(hip, "Decide")
    choose(decision, "What is done about it", "Let out")
    write(decision, "How much in all", "0,8")
    write(decision, "At which seam", "side seams")
    write(decision, "How", "2 mm at each edge of the side seams")
    press(decision, "Decide")
    expect(hip.locator(".chip")).to_have_text(re.compile(r"let out 0\.8 cm"))
    tick(sign, "The client agrees with how it fits")
    press(sign, "Sign off")
    assert urlsplit(page.url).path == garment
    garment_address = page.url
    fittings = page.get_by_role("region", name="Fittings", exact=True)
    expect(fittings).to_contain_text("signed off")
    fittings.get_by_role("link", name="Basted").click()
    the_client_agrees(page)
    page.goto(garment_address)
    expect(fittings).to_contain_text("client agrees")
    now = page.locator(".way > .now")
    expect(now).to_contain_text("fitted")
    press(now, "Done")
    expect(page.get_by_text("Machine sewing may begin.")).to_be_visible()


def the_client_agrees(page: Page) -> None:
    """The tablet goes to the client: no menu, what was decided, her name; then back."""
    page.get_by_role("link", name="Let the client agree").click()
    expect(page.get_by_role("navigation")).to_have_count(0)
    expect(page.get_by_role("region", name="What was decided")).to_contain_text("let out 0.8 cm in all")
    write(page, "Your name", "Olia Carvalho")
    press(page, "I agree")
    expect(page.get_by_role("region", name="Agreed")).to_contain_text("in the presence of")
    page.get_by_role("link", name="Back to the fitting").click()
    expect(page.get_by_role("region", name="Sign-off")).to_contain_text("agreed Olia Carvalho")


# --- report ---------------------------------------------------------------------------------------------------------


def issue_the_report(page: Page, garment: str) -> tuple[bytes, str]:
    """Ask, watch it wait, see it being made and issued by a worker that comes to work; the PDF and its SHA-256."""
    empty_queue()
    press(page, "Make the fit report")
    expect(page.get_by_text("Nothing is kept until you make it.")).to_be_visible()
    page.get_by_label("Deutsch").check()
    expect(page.get_by_role("heading", name="Wie es weitergeht")).to_be_visible()
    page.get_by_label("English").check()
    expect(page.get_by_role("heading", name="What happens next")).to_be_visible()
    press(page, "Make the PDF")
    document = page.get_by_role("region", name="The document")
    chip = document.locator(".job .chip")
    expect(chip).to_have_text("waiting")
    with process(worker_part("reports")):
        seen = watch_until(page, chip.inner_text, "done", seconds=90)
    assert set(seen) <= {"waiting", "working", "done"}
    press(document, "Open")
    sha256 = page.locator("dd.hash").inner_text()
    document = page.request.get(page.get_by_role("link", name="Open the PDF").get_attribute("href") or "")
    assert document.status == 200
    assert document.headers["content-type"] == "application/pdf"
    pdf = document.body()
    assert pdf.startswith(b"%PDF")
    assert hashlib.sha256(pdf).hexdigest() == sha256
    return pdf, sha256


def watch_until(page: Page, look: Callable[[], str], wanted: str, seconds: float) -> list[str]:
    """Every different word that was seen on the way to the wanted one."""
    seen: list[str] = []
    end = time.monotonic() + seconds
    while not seen or seen[-1] != wanted:
        assert time.monotonic() < end, f"after {seconds} s: {seen}"
        found = look()
        if found not in seen:
            seen.append(found)
        page.wait_for_timeout(100)
    return seen


def make_the_link(page: Page) -> str:
    write(page, "Opens for how many days?", "14")
    press(page, "Make the link")
    expect(page.get_by_role("status")).to_contain_text(f"Send it to {CLIENT}")
    address = page.get_by_label("Address to copy").input_value()
    expect(page.get_by_text("not opened yet")).to_be_visible()
    return address


def read_at_the_telephone(page: Page, address: str, sha256: str, folder: Path) -> None:
    page.goto(address)
    expect(page.get_by_role("heading", level=1)).to_have_text("Your fit summary")
    assert CLIENT not in page.content()
    assert GARMENT not in page.content().lower()
    press(page, "Open my fit summary")
    expect(page.get_by_role("heading", level=1)).to_have_text(GARMENT.capitalize())
    expect(page.get_by_text(f"for {CLIENT}")).to_be_visible()
    with page.expect_download() as saved:
        press(page, "Save the PDF")
    file = folder / "summary.pdf"
    saved.value.save_as(file)
    assert hashlib.sha256(file.read_bytes()).hexdigest() == sha256


# --- counter --------------------------------------------------------------------------------------------------------


def look_up_at_the_counter(page: Page) -> None:
    press(page, "Past fits")
    words = field(page, "Client or garment")
    words.click()
    words.press_sequentially("eloise tanenbaum")  # no accents, one letter short
    found = page.locator("#found")
    expect(found.get_by_role("heading", level=2)).to_have_text(CLIENT)
    expect(found).to_contain_text(GARMENT.capitalize())
    expect(found).to_contain_text("Ease accepted")
    expect(found).to_contain_text(re.compile(r"Hip:?\s*let out 0\.8 cm", re.IGNORECASE))
    words.press("Control+a")
    words.press_sequentially("moss skirt")
    expect(found.locator("mark")).to_have_count(0)  # another search, by words that are not in her name
    expect(found.get_by_role("heading", level=2)).to_have_text(CLIENT)
    words.press("Control+a")
    words.press_sequentially("0777")
    expect(found.get_by_role("heading", level=2)).to_have_text(CLIENT)


def figures_of_the_body(house: House) -> set[str]:
    """Every figure of her body as a page could show it, in both units, and as it was typed."""
    with house.scope():
        client = Client.objects.get(name=CLIENT)
        lengths = [measure.value for measure in body_of(house.owner, client.pk).values()]
    typed = [text for takes in (*IN_CENTIMETRES.values(), *IN_INCHES.values()) for text in takes if text]
    assert len(lengths) == 13
    shown = {
        format_length(value, unit).removesuffix(f" {unit}") for value in lengths for unit in ("cm", "in")
    }
    telling = {
        figure for figure in shown | set(typed) if re.search(r"[.,/]", figure)
    }  # 36 may be many things
    assert len(telling) > 30
    return telling


def text_of(page: Page) -> str:
    return page.locator("body").inner_text() + " ".join(page.locator("svg").all_text_contents())


def sees_no_body_figure(page: Page, figures: set[str]) -> None:
    seen = set()
    for pattern in reachable(page, "/"):
        seen.add(pattern)
        found = any_of(figures).findall(text_of(page))
        assert not found, f"{pattern} shows {found}"
    assert {"/clients/*/", "/garments/*/", "/past-fits/", "/reports/*/", "/patterns/*/"} <= seen, sorted(seen)
    assert not {one for one in seen if one.startswith(("/plans/*", "/measurings/*", "/fittings/*"))}


def any_of(figures: set[str]) -> re.Pattern[str]:
    return re.compile(rf"(?<![\d.,/])(?:{'|'.join(map(re.escape, sorted(figures)))})(?![\d/]|[.,]\d)")
