"""Patterns, ease sets and fit plans over the API."""

import pytest

from fitting.models import FitPlan, Pattern
from tests.fitting.paper.invented import OLIA, client, measure, skirt

PATTERN = {
    "name": "Panelled skirt",
    "kind": "skirt",
    "closeness": "fitted",
    "unit": "cm",
    "seam_allowance": "5/8 in",
    "sizes": [
        {
            "name": "14",
            "measures": [{"measure": "waist", "typed": "75,5"}, {"measure": "hip", "typed": "106"}],
        },
        {
            "name": "16",
            "measures": [{"measure": "waist", "typed": "79.5 cm"}, {"measure": "hip", "typed": "1100 mm"}],
        },
    ],
}


@pytest.fixture
def body(house):
    with house.scope():
        who = client(house.instructor)
        measure(house.instructor, who, OLIA)
    return who


def fields(response):
    return {error["field"]: error["reason"] for error in response.json()["errors"]}


def test_a_pattern_is_recorded_read_and_changed(house, api):
    caller = api(house.instructor)
    made = caller.post("/api/v1/patterns/", PATTERN)
    assert made.status_code == 201, made.content
    assert made["ETag"] == '"1"'
    body = caller.get(made["Location"]).json()
    assert body["seam_allowance_mm"] == 15.875
    assert [size["name"] for size in body["sizes"]] == ["14", "16"]
    assert body["sizes"][1]["measures"] == [
        {"measure": "waist", "name": "Waist", "from_pieces": False, "from_outline": False, "mm": 795.0},
        {"measure": "hip", "name": "Hip", "from_pieces": False, "from_outline": False, "mm": 1100.0},
    ]
    assert body["not_ready"] == []
    assert caller.patch(made["Location"], {"notes": "x"}).status_code == 428
    changed = caller.patch(made["Location"], {"notes": "Back seam."}, headers={"If-Match": '"1"'})
    assert (changed.status_code, changed["ETag"], changed.json()["notes"]) == (200, '"2"', "Back seam.")
    assert caller.patch(made["Location"], {"notes": "y"}, headers={"If-Match": '"1"'}).status_code == 412


def test_reasons_name_the_field(house, api):
    caller = api(house.instructor)
    wrong = PATTERN | {"kind": "cape", "sizes": list(reversed(PATTERN["sizes"]))}
    refused = caller.post("/api/v1/patterns/", wrong)
    assert refused.status_code == 400
    assert refused["Content-Type"] == "application/problem+json"
    reasons = fields(refused)
    assert "'cape' is not known" in reasons["kind"]
    assert "Sizes out of order: the hip of size 14" in reasons["sizes.1.measures.hip"]
    typed = {"measure": "hip", "typed": "1,060"}
    wrong = PATTERN | {"unit": "mm", "sizes": [{"name": "14", "measures": [typed]}]}
    assert "two ways" in fields(caller.post("/api/v1/patterns/", wrong))["sizes.0.measures.hip"]
    wrong = PATTERN | {"sizes": [{"name": "14", "measures": [typed | {"typed": "106"}] * 2}]}
    assert "twice" in fields(caller.post("/api/v1/patterns/", wrong))["sizes.0.measures.hip"]
    assert fields(caller.post("/api/v1/patterns/", PATTERN | {"unit": "ell"})) == {
        "unit": "Choose cm, in or mm."
    }
    with house.scope():
        assert not Pattern.objects.exists()


def test_the_same_request_twice_makes_one_pattern(house, api):
    caller = api(house.instructor)
    first = caller.post("/api/v1/patterns/", PATTERN, headers={"Idempotency-Key": "skirt-1"})
    second = caller.post("/api/v1/patterns/", PATTERN, headers={"Idempotency-Key": "skirt-1"})
    assert (first.status_code, second.status_code) == (201, 201)
    assert first.json()["id"] == second.json()["id"]


def test_patterns_are_listed_and_filtered(house, other_house, api):
    with house.scope():
        skirt(house.owner, "Panelled skirt")
        skirt(house.owner, "Bias skirt", closeness="semi_fitted")
    with other_house.scope():
        skirt(other_house.owner, "Not ours")
    caller = api(house.clerk)

    def names(query=""):
        return [row["name"] for row in caller.get(f"/api/v1/patterns/{query}").json()["results"]]

    assert names() == ["Bias skirt", "Panelled skirt"]
    assert names("?closeness=fitted") == ["Panelled skirt"]
    assert names("?words=bias") == ["Bias skirt"]
    assert names("?kind=dress") == []


def test_ease_sets_carry_their_sources(house, api):
    rows = api(house.clerk).get("/api/v1/ease-sets/").json()["results"]
    assert [row["code"] for row in rows if row["chosen"]] == ["costume_text"]
    assert rows[0]["author"].startswith("Central Washington University")


def test_a_plan_is_made_read_listed_and_approved(house, api, body):
    caller = api(house.instructor)
    pattern = caller.post("/api/v1/patterns/", PATTERN).json()["id"]
    made = caller.post("/api/v1/fit-plans/", {"client": str(body.pk), "pattern": pattern})
    assert made.status_code == 201, made.content
    plan = caller.get(made["Location"]).json()
    assert plan["sizes"] == {"waist": "14", "hip": "16"}
    assert list(plan["sizes"]) == ["waist", "hip"]
    hip = plan["zones"][1]
    assert (hip["body_mm"], hip["after"]["words"], hip["body"]) == (1035.0, "in range", "103.5 cm")
    assert hip["rule_source"].startswith("Central Washington University")
    assert plan["rests_on"][0]["name"] == "Waist girth"
    assert plan["outdated"] == []
    for query, count in (
        ("", 1),
        (f"?client={body.pk}", 1),
        (f"?client={pattern}", 0),
        ("?state=approved", 0),
    ):
        assert len(caller.get(f"/api/v1/fit-plans/{query}").json()["results"]) == count
    approved = caller.post(f"{made['Location']}approval/")
    assert (approved.status_code, approved.json()["state"], approved["ETag"]) == (200, "approved", '"2"')
    assert caller.post(f"{made['Location']}approval/").status_code == 409
    assert caller.get("/api/v1/fit-plans/?client=olia").status_code == 400


def test_a_plan_that_can_not_be_made_says_why_and_leaves_nothing(house, api, body):
    caller = api(house.instructor)
    only_waist = {"name": "14", "measures": [{"measure": "waist", "typed": "75"}]}
    pattern = caller.post("/api/v1/patterns/", PATTERN | {"sizes": [only_waist]}).json()
    assert pattern["not_ready"] == ["The pattern lacks the hip measure that a skirt needs."]
    refused = caller.post("/api/v1/fit-plans/", {"client": str(body.pk), "pattern": pattern["id"]})
    assert refused.status_code == 400
    assert fields(refused) == {"pattern": "The pattern lacks the hip measure that a skirt needs."}
    with house.scope():
        assert not FitPlan.objects.exists()


def test_roles_and_studios(house, other_house, api, body):
    instructor, clerk, stranger = api(house.instructor), api(house.clerk), api(other_house.owner)
    pattern = instructor.post("/api/v1/patterns/", PATTERN).json()["id"]
    plan = instructor.post("/api/v1/fit-plans/", {"client": str(body.pk), "pattern": pattern})["Location"]
    assert clerk.get(f"/api/v1/patterns/{pattern}/").status_code == 200
    assert clerk.post("/api/v1/patterns/", PATTERN).status_code == 403
    assert clerk.get(plan).status_code == 403
    assert clerk.get("/api/v1/fit-plans/").status_code == 403
    assert clerk.post(f"{plan}approval/").status_code == 403
    assert stranger.get(f"/api/v1/patterns/{pattern}/").status_code == 404
    assert stranger.get(plan).status_code == 404
    assert stranger.post(f"{plan}approval/").status_code == 404
    assert stranger.get("/api/v1/fit-plans/").json()["results"] == []
    refused = stranger.post("/api/v1/fit-plans/", {"client": str(body.pk), "pattern": pattern})
    assert fields(refused) == {"client": "There is no such client here."}
    own = stranger.post("/api/v1/clients/", {"name": "Wilhelmina Ostrander"}).json()["id"]
    refused = stranger.post("/api/v1/fit-plans/", {"client": own, "pattern": pattern})
    assert fields(refused) == {"pattern": "There is no such pattern here."}
    api_without = type(stranger)()
    assert api_without.get(plan).status_code == 401


def test_lists_take_a_constant_number_of_queries(house, api, body, count_queries):
    caller = api(house.instructor)
    caller.post("/api/v1/patterns/", PATTERN)
    one = count_queries(lambda: caller.get("/api/v1/patterns/"))
    for number in range(20):
        made = caller.post("/api/v1/patterns/", PATTERN | {"name": f"Skirt {number}"}).json()
        caller.post("/api/v1/fit-plans/", {"client": str(body.pk), "pattern": made["id"]})
        if number == 0:
            one_plan = count_queries(lambda: caller.get("/api/v1/fit-plans/"))
    assert count_queries(lambda: caller.get("/api/v1/patterns/")) == one
    assert count_queries(lambda: caller.get("/api/v1/fit-plans/")) == one_plan


def test_charts_ease_rules_overrules_ticks_and_sheets_over_the_api(house, api):
    from fitting.models import CuttingSheet
    from fitting.services.plans import make_plan
    from tests.fitting.paper.invented import OLIA

    with house.scope():
        who = client(house.instructor)
        measure(house.instructor, who, OLIA)
        plan = make_plan(house.instructor, client_id=who.pk, pattern_id=skirt(house.instructor).pk)
    caller, root = api(house.instructor), "/api/v1"
    chart = {
        "name": "Block", "source": "ours", "unit": "in",
        "sizes": [{"name": "12", "measures": [{"measure": "hip_girth", "typed": "36 1/2"}]}],
    }  # fmt: skip
    made = caller.post(f"{root}/body-charts/", chart, format="json")
    assert (made.status_code, made.json()["sizes"][0]["measures"][0]["mm"]) == (201, 927.1)
    assert (
        caller.post(f"{root}/body-charts/sourced/", {"code": "misses_1968"}, format="json").status_code == 201
    )
    assert len(caller.get(f"{root}/body-charts/").json()["results"]) == 2
    own = caller.post(
        f"{root}/ease-sets/", {"title": "Ours", "copy_of": "costume_text"}, format="json"
    ).json()
    assert own["own"]
    assert len(own["results"]) == 15
    address = f"{root}/ease-sets/{own['code']}/"
    rule = {
        "kind": "skirt",
        "zone": "hip",
        "closeness": "fitted",
        "low_mm": 40,
        "target_mm": 50,
        "high_mm": 60,
        "source": "us",
    }
    changed = caller.post(address, rule, format="json").json()["results"]
    (row,) = [one for one in changed if one["kind"] == "skirt" and one["zone"] == "hip"]
    assert (row["low_mm"], row["source"]) == (40, "us")
    assert caller.delete(f"{address}rules/{row['id']}/").status_code == 204
    followed = caller.put(f"{root}/ease-sets/followed/", {"code": own["code"]}, format="json").json()[
        "results"
    ]
    assert [one["title"] for one in followed if one["chosen"]] == ["Ours"]

    here = f"{root}/fit-plans/{plan.pk}/"
    given = {"overrules": [{"zone": "hip", "amount": "-1.2 cm", "reason": "close"}]}
    looked = caller.post(f"{here}overrules/", given, format="json").json()
    assert looked["alterations"][0]["by_hand"]
    assert caller.get(here).json()["overrules"] == []
    assert caller.put(f"{here}overrules/", given, format="json").status_code in {412, 428}
    kept = caller.put(f"{here}overrules/", given, format="json", HTTP_IF_MATCH='"1"').json()
    assert kept["overrules"][0]["words"] == "Hip: 1.2 cm less in all"
    wrong = {"overrules": [{"zone": "hip", "amount": "1", "size": "16"}, {"zone": "hip", "amount": "wide"}]}
    told = caller.put(f"{here}overrules/", wrong, format="json", HTTP_IF_MATCH='"2"')
    assert told.status_code == 400
    assert "either a size or an amount" in told.content.decode()
    assert caller.post(f"{here}ticks/", {"line": "alteration:hip"}, format="json").status_code == 409
    caller.post(f"{here}approval/")
    ticked = caller.post(f"{here}ticks/", {"line": "alteration:hip"}, format="json").json()
    assert (ticked["carried"], ticked["alterations"][0]["ticked"]["by"]) == (1, house.instructor.name)
    sheets = caller.post(f"{here}sheets/")
    assert (sheets.status_code, sheets.json()["results"][0]["ready"]) == (202, False)
    with house.scope():
        sheet = CuttingSheet.objects.get()
    assert caller.get(f"{here}sheets/{sheet.pk}/pdf/").status_code == 404
    for act in (
        caller.get(f"{root}/paper-files/patterns/"),
        caller.get(f"{root}/paper-files/charts/?form=xlsx"),
    ):
        assert act.status_code == 200
    assert api(house.clerk).put(f"{here}overrules/", given, format="json").status_code == 403


def test_a_file_is_looked_through_and_taken_over_over_the_api(house, api):
    from fitting.models import BodyChart
    from tests.fitting.paper.test_paper_transfer import CHART_LINES, table

    caller, address = api(house.instructor), "/api/v1/paper-files/"
    looked = caller.post(address, {"file": _file(table(*CHART_LINES))}, format="multipart").json()
    assert looked == {"what": "charts", "names": ["Our block"], "problems": [], "taken_over": False}
    lines = [list(line) for line in CHART_LINES]
    lines[2][5] = "96 in"
    told = caller.post(address, {"file": _file(table(*lines))}, format="multipart").json()["problems"]
    assert (told[0]["row"], told[0]["column"]) == (3, "Value")
    refused = caller.post(address, {"file": _file(table(*lines)), "dry_run": "false"}, format="multipart")
    assert refused.status_code == 400
    with house.scope():
        assert not BodyChart.objects.exists()
    taken = caller.post(address, {"file": _file(table(*CHART_LINES)), "dry_run": "false"}, format="multipart")
    assert taken.json()["taken_over"]
    with house.scope():
        assert BodyChart.objects.count() == 1


def _file(file):
    file.name = "charts.csv"
    return file
