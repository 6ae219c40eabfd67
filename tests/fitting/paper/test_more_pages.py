"""The paper's further pages: setting by hand, ticking off, charts, ease rules, pieces, files. All without a script."""

import io
import re

import pytest
from django.urls import reverse

from fitting.models import BodyChart, CuttingSheet, FitPlan, OwnEaseRule, Pattern, PlanTick
from fitting.services.charts import take_chart
from fitting.services.ease import write_ease_set
from fitting.services.plans import make_plan
from studio.platform.models import Studio
from tests.fitting.paper.invented import OLIA, client, measure, skirt
from tests.fitting.paper.test_pages import FACTS
from tests.fitting.paper.test_paper_transfer import CHART_LINES, PATTERN_LINES, table


@pytest.fixture
def paper(house):
    """A house with a client, a pattern, a draft, a chart and a set of its own; the scope is closed again."""
    with house.scope():
        who = client(house.instructor)
        measure(house.instructor, who, OLIA)
        pattern = skirt(house.instructor)
        plan = make_plan(house.instructor, client_id=who.pk, pattern_id=pattern.pk)
        chart = take_chart(house.instructor, code="womens_38_50")
        own = write_ease_set(house.instructor, title="Ours", copy_of="costume_text")
    return house, plan, chart, own


def test_who_may_open_what(paper, other_house, page):
    house, plan, chart, own = paper
    everybody = {"owner": 200, "instructor": 200, "clerk": 200, "stranger": 200}
    not_the_clerk = everybody | {"clerk": 403}
    theirs = {"stranger": 404}
    wanted = {
        reverse("fitting:charts"): everybody,
        reverse("fitting:new-chart"): not_the_clerk,
        reverse("fitting:chart", args=[chart.pk]): everybody | theirs,
        reverse("fitting:ease"): everybody,
        reverse("fitting:ease-set", args=["metric_page"]): everybody,
        reverse("fitting:ease-set", args=[str(own.pk)]): everybody | theirs,
        reverse("fitting:paper-transfer"): everybody,
        reverse("fitting:paper-export", args=["patterns", "csv"]): everybody,
        reverse("fitting:overrule-plan", args=[plan.pk]): not_the_clerk | theirs,
    }
    people = {role: getattr(house, role) for role in ("owner", "instructor", "clerk")} | {
        "stranger": other_house.owner
    }
    found = {
        address: {role: page(actor).get(address).status_code for role, actor in people.items()}
        for address in wanted
    }
    assert found == wanted


def test_setting_by_hand_shows_what_follows_before_it_is_kept(paper, page):
    house, plan, _, _ = paper
    browser, address = page(house.instructor), reverse("fitting:overrule-plan", args=[plan.pk])
    typed = {"version": 1, "size-waist": "16", "amount-hip": "-1,2", "look": "yes"}
    looked = browser.post(address, typed)
    text = looked.content.decode()
    assert looked.status_code == 200
    assert "not kept yet" in text
    assert "Take in at the waist" in text
    assert "Hip: 1.2 cm less in all, set by hand" in text
    with house.scope():
        assert FitPlan.objects.get().version == 1
    # A script that looks sends the button along when it is pressed in the same moment: that keeps nothing.
    pressed = typed | {"keep": "yes", "reason-waist": "x", "reason-hip": "x"}
    by_script = browser.post(address, pressed, HTTP_HX_REQUEST="true")
    assert by_script.status_code == 200
    with house.scope():
        assert FitPlan.objects.get().version == 1
    # To be kept it needs reasons; each stands by its field, and what was typed stands.
    refused = browser.post(address, typed | {"keep": "yes"})
    assert refused.status_code == 400
    assert refused.content.decode().count("say why, so that the next person understands it.") >= 2
    assert 'value="-1,2"' in refused.content.decode()
    kept = browser.post(
        address, typed | {"keep": "yes", "reason-waist": "Dinner", "reason-hip": "Likes it close"}
    )
    assert kept["Location"] == reverse("fitting:plan", args=[plan.pk])
    text = browser.get(kept["Location"]).content.decode()
    assert "Dinner" in text
    assert "Likes it close" in text
    again = browser.get(address).content.decode()
    assert 'value="-1.2"' in again
    stale = browser.post(address, typed | {"keep": "yes", "reason-waist": "x", "reason-hip": "x"})
    assert stale.status_code == 400
    for wrong, words in (
        ({"amount-hip": "much"}, "much"),
        ({"reason-hip": "why"}, "neither a size nor a change"),
    ):
        assert words in browser.post(address, {"version": 2, "look": "yes"} | wrong).content.decode()


def test_an_approved_plan_is_ticked_off_and_printed(paper, page):
    house, plan, _, _ = paper
    browser, address = page(house.instructor), reverse("fitting:plan", args=[plan.pk])
    assert "Carried to the paper" not in browser.get(address).content.decode()
    assert browser.post(reverse("fitting:ask-cutting-sheet", args=[plan.pk])).status_code == 409
    browser.post(address)
    line = re.search(r'name="line" value="([^"]+)"', browser.get(address).content.decode())
    assert line is not None
    browser.post(reverse("fitting:tick-line", args=[plan.pk]), {"line": line[1], "done": "yes"})
    text = browser.get(address).content.decode()
    assert "all on the paper" in text
    assert house.instructor.name in text
    browser.post(reverse("fitting:tick-line", args=[plan.pk]), {"line": line[1], "done": "no"})
    assert "0 of 1 on the paper" in browser.get(address).content.decode()
    asked = browser.post(reverse("fitting:ask-cutting-sheet", args=[plan.pk]))
    with house.scope():
        sheet = CuttingSheet.objects.get()
        assert PlanTick.objects.count() == 2
    assert asked["Location"] == reverse("platform:job", args=[sheet.job_id])
    assert "Being drawn since" in browser.get(address).content.decode()
    assert browser.get(reverse("fitting:cutting-sheet-pdf", args=[plan.pk, sheet.pk])).status_code == 404
    assert browser.get(reverse("fitting:overrule-plan", args=[plan.pk])).status_code == 302
    assert page(house.clerk).post(reverse("fitting:tick-line", args=[plan.pk])).status_code == 403


def test_a_chart_is_recorded_in_two_steps_and_a_pattern_follows_from_it(house, page):
    browser = page(house.instructor)
    facts = {
        "step": "facts", "name": "Our block", "source": "taped in our classes", "unit": "cm", "size_names": "12, 14",
        "measures": ["waist_girth", "hip_girth"], "base_height": "168",
    }  # fmt: skip
    assert 'name="cell-14-hip_girth"' in browser.post(reverse("fitting:new-chart"), facts).content.decode()
    cells = {
        "cell-12-waist_girth": "69.5",
        "cell-12-hip_girth": "96",
        "cell-14-waist_girth": "68",
        "cell-14-hip_girth": "100",
    }
    refused = browser.post(reverse("fitting:new-chart"), facts | cells | {"step": "grid"})
    assert refused.status_code == 400
    assert "Sizes out of order" in refused.content.decode()
    cells["cell-14-waist_girth"] = "73.5"
    made = browser.post(reverse("fitting:new-chart"), facts | cells | {"step": "grid"})
    with house.scope():
        chart = BodyChart.objects.get()
    assert made["Location"] == reverse("fitting:chart", args=[chart.pk])
    # The pattern known by that chart alone needs no size table.
    known = FACTS | {"basis": "chart", "chart": str(chart.pk), "size_names": "", "measures": []}
    made = browser.post(reverse("fitting:new-pattern"), known)
    with house.scope():
        pattern = Pattern.objects.get()
        assert pattern.base_height_mm == 1680
    assert made["Location"] == reverse("fitting:pattern", args=[pattern.pk])
    assert "96.0 cm" in browser.get(made["Location"]).content.decode()


def test_pieces_are_typed_level_by_level_and_shown_as_a_sum(house, page):
    browser = page(house.instructor)
    facts = FACTS | {"pieces": "Front, Back"}
    grid = browser.post(reverse("fitting:new-pattern"), facts).content.decode()
    assert 'name="cell-12-hip-1"' in grid
    cells = {"step": "grid"}
    for code, widths in (("waist", ("19.2", "20.2")), ("hip", ("25", "26"))):
        for piece in (0, 1):
            cells |= {
                f"cell-times-{code}-{piece}": "2",
                f"cell-allow-{code}-{piece}": "1.5",
                f"cell-10-{code}-{piece}": widths[0],
                f"cell-12-{code}-{piece}": widths[1],
            }
    cells["cell-take-waist-1"] = "dart 1 + dart 0,5"
    wrong = browser.post(reverse("fitting:new-pattern"), facts | cells | {"cell-take-waist-0": "dart 30"})
    assert wrong.status_code == 400
    assert "larger than the piece" in wrong.content.decode()
    lacking = browser.post(reverse("fitting:new-pattern"), facts | cells | {"cell-12-hip-0": ""})
    assert "Type the width in size 12 too" in lacking.content.decode()
    made = browser.post(reverse("fitting:new-pattern"), facts | cells)
    with house.scope():
        pattern = Pattern.objects.get()
    assert made["Location"] == reverse("fitting:pattern", args=[pattern.pk])
    text = browser.get(made["Location"] + "?size=10").content.decode()
    # 2 * (19.2 - 1.5) + 2 * (19.2 - 1.5 - 1 - 0.5) = 35.4 + 32.4.
    assert "2 × (19.2 − 1.5 seam allowance − 1.0 dart − 0.5 dart)" in text
    assert "67.8 cm" in text
    assert "from the pieces" in text


def test_the_studio_follows_a_set_and_edits_its_own(paper, page):
    house, _, _, own = paper
    browser = page(house.instructor)
    browser.post(reverse("fitting:ease"), {"follow": "metric_page"})
    with house.scope():
        assert Studio.objects.get().ease_set == "metric_page"
    address = reverse("fitting:ease-set", args=[str(own.pk)])
    rule = {
        "kind": "skirt", "zone": "hip", "closeness": "fitted", "structure": "woven", "low": "4", "target": "5",
        "high": "4.5", "source": "our own practice",
    }  # fmt: skip
    assert "must not be more" in browser.post(address, rule).content.decode()
    assert browser.post(address, rule | {"high": "6"}).status_code == 302
    with house.scope():
        row = OwnEaseRule.objects.get(kind="skirt", zone="hip")
        assert (row.low_mm, row.target_mm, row.high_mm, row.source) == (40, 50, 60, "our own practice")
        before = OwnEaseRule.objects.count()
    browser.post(address, {"drop": str(row.pk)})
    with house.scope():
        assert OwnEaseRule.objects.count() == before - 1
    assert browser.post(reverse("fitting:ease-set", args=["metric_page"]), rule).status_code == 404
    assert "Take out" not in page(house.clerk).get(address).content.decode()


def test_a_file_is_looked_through_then_taken_over_by_whom_it_was_shown(house, other_house, page):
    browser, address = page(house.instructor), reverse("fitting:paper-transfer")

    def upload(lines, name="paper.csv"):
        file = table(*lines)
        file.name = name
        return browser.post(address, {"file": file})

    lines = [list(line) for line in CHART_LINES]
    lines[2][5] = "96 in"
    refused = upload(lines)
    assert refused.status_code == 400
    assert "one unit for all of it" in refused.content.decode()
    looked = upload(CHART_LINES).content.decode()
    rows = re.search(r'name="rows" value="([^"]+)"', looked)
    assert rows is not None
    with house.scope():
        assert not BodyChart.objects.exists()
    # Nobody else's, and nothing that was changed on the way.
    assert page(other_house.instructor).post(address, {"rows": rows[1]}).status_code == 400
    assert page(house.instructor).post(address, {"rows": rows[1][:-1]}).status_code == 400
    assert page(house.instructor).post(address, {"rows": rows[1]})["Location"] == reverse("fitting:charts")
    twice = page(house.instructor).post(address, {"rows": rows[1]})
    assert "already a chart" in twice.content.decode()
    rows = re.search(r'name="rows" value="([^"]+)"', upload(PATTERN_LINES).content.decode())
    assert rows is not None
    assert browser.post(address, {"rows": rows[1]})["Location"] == reverse("fitting:patterns")
    out = browser.get(reverse("fitting:paper-export", args=["patterns", "xlsx"]))
    assert io.BytesIO(out.content).read(2) == b"PK"
    assert out["Cache-Control"] == "no-store"
    assert page(house.clerk).post(address, {"rows": "x"}).status_code == 403
