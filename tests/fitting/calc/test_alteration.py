"""Alterations on paper: amounts, order, limits, warnings."""

import json
import math
from dataclasses import asdict
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitting.calc.alteration import (
    SIXTEENTH_INCH,
    bust_adjustment,
    let_out_limit,
    plan,
    round_change,
    share,
    take_in_limit,
)
from fitting.calc.ease import EaseRule
from fitting.calc.plan_parts import LENGTHS, Bust, Dart, Detail, Length
from fitting.calc.sizing import SizeRow

INCH = 25.4
ZONES = ("bust", "waist", "hip")
# Misses table and costume-shop ease: the sources stand in the file.
PUBLISHED = json.loads((Path(__file__).parent / "published.json").read_text())
RULES = {
    zone: EaseRule(low * INCH, (low + high) / 2 * INCH, high * INCH, "costume-shop text")
    for zone, (low, high) in ((zone, PUBLISHED["ease"][zone]) for zone in ZONES)
}
RULES["shoulder_to_waist"] = EaseRule(0, 5, 10, "common practice")
RULES["garment_length"] = EaseRule(-10, 0, 10, "common practice")
RULES["shoulder_length"] = EaseRule(-3, 0, 3, "common practice")
COLUMNS = {"bust": "bust", "waist": "waist", "hip": "hip", "shoulder_to_waist": "back_waist"}
CHART = [
    SizeRow(
        name, {code: PUBLISHED["misses"][column][place] * INCH for code, column in COLUMNS.items()}, "body"
    )
    for place, name in enumerate(PUBLISHED["misses"]["sizes"])
]
# Finished garments that hold the target ease, with an invented length and shoulder.
PAPER = [
    SizeRow(
        row.name,
        {code: value + RULES[code].target for code, value in row.measures.items()}
        | {"garment_length": 1000.0, "shoulder_length": 120.0},
    )
    for row in CHART
]
TORSO, WHOLE = LENGTHS[0], LENGTHS[-1]


def body_14(**changes):
    return dict(CHART[4].measures) | {"garment_length": 1000.0, "shoulder_length": 120.0} | changes


def only(plan_, zone):
    found = [one for one in plan_.alterations if one.zone == zone]
    assert len(found) == 1
    return found[0]


def notices(plan_, code):
    return [one.text for one in plan_.notices if one.code == code]


def test_four_panels_share_by_four_edges_and_a_back_seam_makes_six():
    # Common practice: total / 4 on a symmetrical four-panel garment; with a centre back seam 6 edges, so that
    # 6 cm are 1 cm at each.
    assert share(60, 4) == 15
    assert share(60, 6) == 10


def test_let_out_by_the_seam_allowance_that_is_there():
    # Worked figures: 1.5 cm there, 0.7 kept: 0.8 at each edge, 3.2 cm over four edges.
    assert let_out_limit(15, 7, 4) == pytest.approx(32)
    assert let_out_limit(5, 7, 4) == 0


def test_take_in_limit_is_per_edge():
    # Common practice, no source: 12 mm at an edge unless the studio says otherwise.
    assert take_in_limit(4) == 48
    assert take_in_limit(6, 10) == 60


def test_bust_adjustment_is_half_the_difference_on_each_half_front():
    # Sewing-teaching pages: half of the full bust's excess over the base cup (2 in) on each half front.
    # High bust 34 in, full bust 38 in on a paper for 36 in: 2 in over, 1 in each.
    assert bust_adjustment(38 * INCH, 36 * INCH) == pytest.approx(INCH)
    assert bust_adjustment(900, 920) == -10


def test_rounding_at_an_edge():
    wide = EaseRule(0, 20, 40, "invented")
    # Needs 33 in all, 8.25 at each of four edges: drawn as 8, so 32.
    assert round_change(987, 1000, wide, 4) == (8, 2.0)
    # In sixteenths: 8.25 / 1.5875 = 5.197, five of them.
    assert round_change(987, 1000, wide, 4, SIXTEENTH_INCH) == (pytest.approx(7.9375), SIXTEENTH_INCH)
    # In range: nothing, though it is not on target.
    assert round_change(1001, 1000, wide, 4) == (0, 2.0)
    # Steps of 8 mm in all overshoot a range of 2 mm, so 1.25 at an edge is drawn as 1 in half steps.
    assert round_change(1010, 1000, EaseRule(14, 15, 16, "invented"), 4) == (1.0, 1.0)
    # No width at all: exact.
    assert round_change(1010, 1000, EaseRule(15.1, 15.1, 15.1, "invented"), 4) == (pytest.approx(1.275), 0.0)


def test_a_body_of_the_table_needs_nothing():
    # Misses table as chart: the body of a row is the row.
    result = plan(body_14(), PAPER, ZONES, RULES, {}, lengths=[TORSO])
    assert result.alterations == ()
    assert result.notices == ()
    assert {one.after for one in result.outcomes} == {"within"}
    assert "left alone" in result.summary


def test_a_torso_two_centimetres_longer_comes_first_and_lowers_the_waist():
    # The body's back waist length 20 mm over the row's, and a waist that needs room as well.
    body = body_14(shoulder_to_waist=CHART[4].measures["shoulder_to_waist"] + 20, waist=28 * INCH + 20)
    result = plan(body, PAPER, ZONES, RULES, {}, lengths=[TORSO], fixed=dict.fromkeys(ZONES, "14"))
    assert [one.zone for one in result.alterations] == ["shoulder_to_waist", "waist"]
    assert [one.order for one in result.alterations] == [1, 2]
    torso, waist = result.alterations
    assert torso.total == 20
    assert waist.total == 20
    assert {one.zone: one.lowered_by for one in result.outcomes} == {
        "shoulder_to_waist": 0,
        "bust": 0,
        "waist": 20,
        "hip": 20,
    }
    assert "which now lies 20 mm lower" in waist.method


def test_what_a_part_gains_the_whole_length_has_already():
    # The torso gives the garment 20 mm; the body asks for 50 mm more in all, so the hem gets only the other
    # 30.
    body = body_14(
        shoulder_to_waist=CHART[4].measures["shoulder_to_waist"] + 20,
        garment_length=1050.0,
    )
    result = plan(body, PAPER, ZONES, RULES, {}, lengths=[TORSO, WHOLE])
    assert only(result, "shoulder_to_waist").total == 20
    assert only(result, "garment_length").total == 30
    assert only(result, "garment_length").finished == 1050
    assert "hem line" in only(result, "garment_length").method


def test_lengths_then_widths_then_details_with_reasons_and_readings():
    body = body_14(shoulder_to_waist=450.0, hip=45 * INCH, shoulder_length=110.0)
    result = plan(
        body,
        PAPER,
        ZONES,
        RULES,
        {},
        lengths=[TORSO],
        details=[Detail("shoulder_length")],
        readings={"hip": "hip_girth"},
        edges={"hip": {"front": 2, "back": 4}},
    )
    assert [one.kind for one in result.alterations] == ["length", "width", "detail"]
    hip = only(result, "hip")
    # Misses table: size 20 has a hip of 44 in; 1 in more over six edges is 4.23, drawn as 4.
    assert (hip.per_edge, hip.edges, hip.total) == (4, 6, 24)
    assert [(one.piece, one.edges, one.total) for one in hip.shares] == [("front", 2, 8), ("back", 4, 16)]
    assert hip.reading == "hip_girth"
    assert hip.finished == pytest.approx(hip.paper + 24)
    assert "costume-shop text" in hip.reason
    assert only(result, "shoulder_length").total == -10
    assert "2 mm at each edge" in result.rounding
    assert [(one.upper_zone, one.lower_zone, one.lower_size) for one in result.blends] == [
        ("waist", "hip", "20")
    ]


def test_sized_by_the_high_bust_the_rest_is_a_bust_adjustment():
    # Misses 14: bust 36 in, so a high bust of 36 in less 5 cm. A full bust 30 mm over the chart's: 15 on each
    # half front, drawn as 16 (of two equally near the larger).
    bust = Bust(high_bust=36 * INCH - 50, full_bust=36 * INCH + 30)
    body = {code: mm for code, mm in body_14().items() if code != "bust"}
    result = plan(body, PAPER, ZONES, RULES, {}, bust=bust)
    assert result.sizes.sizes["bust"] == "14"
    assert "high bust" in result.sizes.zones[0].reason
    change = only(result, "bust")
    assert (change.per_edge, change.total, change.shares[0].piece) == (16, 32, "front")
    front = only(result, "centre_front_length")
    assert (front.total, front.kind) == (8, "detail")
    assert "common practice" in front.reason
    assert notices(result, "walk")
    stated = plan(body, PAPER, ZONES, RULES, {}, bust=Bust(bust.high_bust, bust.full_bust, front_length=13))
    assert only(stated, "centre_front_length").total == 14
    assert "fitter" in only(stated, "centre_front_length").reason


def test_warnings():
    # Misses table: hip of the largest size 44 in, step 2 in; a body of 47 in needs 3 in more.
    beyond = plan(body_14(hip=47 * INCH), PAPER, ZONES, RULES, {})
    assert "size run ends here" in notices(beyond, "grade_step")[0]
    # By hand in a size far too large: another size, and too much to take in at the seams.
    large = plan(body_14(), PAPER, ZONES, RULES, {}, fixed={"hip": "20"}, joins={"hip": ["lining"]})
    assert "Consider another size" in notices(large, "grade_step")[0]
    assert "48 mm" in notices(large, "take_in")[0]
    assert "lining" in notices(large, "walk")[0]
    # A bust adjustment widens the dart: 30 + 16 mm is more than 40.
    bust = Bust(36 * INCH - 50, 36 * INCH + 30)
    assert (
        "46 mm"
        in notices(plan(body_14(), PAPER, ZONES, RULES, {}, bust=bust, darts={"bust": Dart(30)}), "dart")[0]
    )
    assert not notices(plan(body_14(), PAPER, ZONES, RULES, {}, bust=bust, darts={"bust": Dart(20)}), "dart")
    # Just short of the range, with a poor tape.
    near = plan(body_14(waist=28 * INCH + 5), PAPER, ZONES, RULES, {"waist": 9.0}, fixed={"waist": "14"})
    assert "Tape again" in notices(near, "measure_again")[0]
    assert notices(plan(body_14(), CHART, ZONES, RULES, {}), "chart")


def test_the_plan_is_plain_data():
    result = plan(body_14(hip=45 * INCH), PAPER, ZONES, RULES, {"hip": 9.0}, lengths=[TORSO])
    stored = json.loads(json.dumps(asdict(result), allow_nan=False))
    assert stored["alterations"][0]["zone"] == "hip"
    assert stored["outcomes"][3]["before"] == "too tight"
    assert stored["sizes"]["zones"][0]["size"] == "14"


@st.composite
def cases(draw):
    """Random charts, bodies, rules, edges and steps; ranges from no width upward."""
    lengths = [Length("upper", lowers=("a",), part_of=("whole",)), Length("whole")]
    zones, details = ["a", "b", "c"], [Detail("d")]
    rules, body, paper = {}, {}, {}
    for code in ["upper", "whole", *zones, "d"]:
        low = draw(st.floats(-40, 60))
        target = low + draw(st.floats(0, 30))
        rules[code] = EaseRule(low, target, target + draw(st.floats(0, 30)), "invented")
        body[code] = draw(st.floats(500, 1300))
        paper[code] = draw(st.floats(500, 1300))
    # A whole is longer than its part.
    body["whole"] += 2000
    paper["whole"] += 2000
    grades = {code: draw(st.floats(5, 60)) for code in paper}
    sizes = [
        SizeRow(str(place), {code: mm + grades[code] * place for code, mm in paper.items()})
        for place in range(draw(st.integers(1, 5)))
    ]
    edges = {code: draw(st.integers(1, 8)) for code in [*zones, "d"]}
    bust = Bust(body["a"] - 40, body["a"], zone="a") if draw(st.booleans()) else None
    step = draw(st.sampled_from([2.0, SIXTEENTH_INCH, 5.0]))
    return (
        body,
        sizes,
        zones,
        rules,
        {"lengths": lengths, "details": details, "edges": edges, "bust": bust, "step": step},
    )


@settings(max_examples=150, deadline=None)
@given(cases())
def test_every_zone_ends_in_range_and_altered_ones_near_the_target(case):
    body, sizes, zones, rules, options = case
    result = plan(body, sizes, zones, rules, {}, **options)
    altered = {one.zone: one for one in result.alterations}
    rows = {row.name: row for row in sizes}
    for one in result.outcomes:
        rule, left = rules[one.zone], 1e-5
        # Measured again: paper of the chosen size, what the lengths before it gave, and the pieces' shares.
        gained = (
            math.fsum(share_.total for share_ in altered[one.zone].shares) if one.zone in altered else 0.0
        )
        given_before = altered["upper"].total if one.zone == "whole" and "upper" in altered else 0.0
        again = rows[one.size].measures[one.zone] + given_before + gained - body[one.zone]
        assert rule.low - left <= again <= rule.high + left
        if one.zone in altered:
            assert abs(again - rule.target) <= altered[one.zone].edges * options["step"] / 2 + left
            before = again - gained
            assert not rule.low <= before <= rule.high
    order = [("length", "width", "detail").index(one.kind) for one in result.alterations]
    assert order == sorted(order)


def short_whole():
    """A pattern whose whole length is shorter than its torso: the measures cannot both be right."""
    return [SizeRow(row.name, {**row.measures, "garment_length": 300.0}) for row in PAPER]


def call(**changes):
    given_ = {"body": body_14(), "sizes": PAPER, "zones": ZONES, "rules": RULES, "lengths": [TORSO, WHOLE]}
    given_ |= changes
    return plan(
        given_.pop("body"), given_.pop("sizes"), given_.pop("zones"), given_.pop("rules"), {}, **given_
    )


@pytest.mark.parametrize(
    ("act", "words"),
    [
        (lambda: call(body={"bust": 900.0, "waist": 700.0}), "body has no measure for hip"),
        (lambda: call(lengths=[Length("leg")]), "no ease rule for leg"),
        (lambda: call(lengths=[Length("leg")], rules=RULES | {"leg": RULES["hip"]}), "no measure for leg"),
        (lambda: call(lengths=[WHOLE, TORSO]), "must come before"),
        (lambda: call(body=body_14(shoulder_to_waist=50.0), sizes=short_whole()), "its parts"),
        (lambda: call(lengths=[TORSO, TORSO]), "more than once"),
        (lambda: call(edges={"hipp": 4}), "edges are given for hipp"),
        (lambda: call(edges={"hip": 0}), "Edges of hip"),
        (lambda: call(edges={"hip": {}}), "Edges of hip"),
        (lambda: call(step=0), "Rounding step"),
        (lambda: call(step=math.nan), "Rounding step"),
        (lambda: call(bust=Bust(800, -1)), "Full bust"),
        (lambda: call(bust=Bust(800, 850, zone="chest")), "zone chest"),
        (lambda: share(40, 0), "edges"),
        (lambda: share(math.inf, 4), "Total change"),
        (lambda: let_out_limit(-1, 7, 4), "Seam allowance"),
        (lambda: take_in_limit(4, -2), "take in"),
        (lambda: bust_adjustment(900, 0), "paper"),
    ],
    ids=[
        "body", "rule", "paper", "order", "parts", "twice",
        "edges", "no-edge", "no-piece", "step", "step-nan", "bust",
        "bust-zone", "share", "share-endless", "allowance", "take-in", "paper-bust",
    ],
)  # fmt: skip
def test_bad_input_is_refused(act, words):
    with pytest.raises(ValueError, match=words):
        act()
