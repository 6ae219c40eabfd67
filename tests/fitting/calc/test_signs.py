"""The table of signs is complete, and its reasoning is the trade's. All of it is common practice, no source."""

import itertools

import pytest

from fitting.calc import alteration, plan_parts
from fitting.calc.signs import check_table, meanings
from fitting.models import FitNote
from fitting.models.paper import GarmentKind
from fitting.queries.fittings import PLACES
from fitting.queries.paper_zones import paper_zones
from fitting.queries.signs import sign_table

TABLE = sign_table()


def test_nothing_in_the_table_points_nowhere() -> None:
    assert check_table(TABLE, list(PLACES)) == []


def test_there_are_rules_enough() -> None:
    assert len(TABLE.rules) >= 60
    assert len(
        {(place, rule.seen, rule.direction, rule.garments) for rule in TABLE.rules for place in rule.places}
    ) == sum(len(rule.places) for rule in TABLE.rules), "two rules say the same"
    assert {rule.change for rule in TABLE.rules} | {
        code for row in TABLE.near.values() for code in row.values()
    } == set(TABLE.changes), "a change that nothing leads to"


@pytest.mark.parametrize("garment", GarmentKind.values)
def test_every_sign_at_every_place_gives_something(garment: str) -> None:
    for place, sign in itertools.product(PLACES, TABLE.signs.values()):
        for direction in ("", *sign.directions):
            found = meanings(TABLE, place, sign.code, direction=direction, garment=garment, amount=20.0)
            assert found, (place, sign.code, direction)
            assert all(meaning.cause and meaning.change.how and meaning.source for meaning in found)


def test_every_change_is_one_that_the_paper_knows() -> None:
    """Widths, lengths and details are zones of the fit plan; every decision is one that a fit note can hold."""
    lengths = {length.code for length in plan_parts.LENGTHS}
    widths = {zone.code for zone in paper_zones().values() if zone.kind == "width"}
    details = {zone.code for zone in paper_zones().values() if zone.kind == "detail"}
    for change in TABLE.changes.values():
        assert change.decision in FitNote.Decision.values
        assert (
            change.zone
            in {"width": widths, "length": lengths, "detail": details, "by_hand": {""}}[change.kind]
        )
        if change.edges and change.kind == "width":
            assert alteration.share(40.0, change.edges) == 40.0 / change.edges


def test_what_a_fitter_expects() -> None:
    def first(place: str, seen: str, **more: object) -> str:
        return meanings(TABLE, place, seen, **more)[0].change.code  # type: ignore[arg-type]

    assert first("waist", "fold_upright") == "narrower_waist"
    assert first("back", "fold_level") == "hollow_back"
    assert first("bust", "strain_slanting", direction="to_fullest", garment="dress") == "bust_adjustment_more"
    assert (
        first("crotch", "strain_slanting", direction="up_to_side", garment="trousers")
        == "crotch_front_longer"
    )
    assert (
        first("crotch", "strain_slanting", direction="down_to_side", garment="trousers")
        == "crotch_deeper_curve"
    )
    assert first("seat", "strain_slanting", garment="skirt") == "waist_edge_raise"
    assert first("balance", "seam_swings", direction="forward") == "balance_front"
    assert first("waist", "fold_level", garment="trousers") == "shorter_waist_to_hip"
    assert first("waist", "fold_level", garment="dress") == "shorter_shoulder_to_waist"


def test_amounts_come_from_the_pinch() -> None:
    narrower = meanings(TABLE, "waist", "fold_upright", amount=30.0)[0]
    assert (narrower.amount, narrower.each) == (30.0, 7.5)
    one = meanings(TABLE, "waist", "fold_upright", amount=30.0, one_side=True)[0]
    assert (one.each, one.edges) == (15.0, 2)
    half = meanings(TABLE, "bust", "fold_level", garment="dress", amount=30.0)[0]
    assert half.amount == 15.0
    unknown = meanings(TABLE, "hem", "hem_dips", amount=30.0)[0]
    assert unknown.amount is None
    assert meanings(TABLE, "waist", "fold_upright")[0].amount is None


@pytest.mark.parametrize(
    ("place", "seen", "more", "sentence"),
    [
        ("nose", "gaping", {}, "'nose' is not a place"),
        ("waist", "sparkle", {}, "'sparkle' is not a sign"),
        ("waist", "gaping", {"direction": "forward"}, "Gaping has no direction 'forward'"),
        ("waist", "gaping", {"amount": -2.0}, "Amount pinched or let"),
        ("waist", "gaping", {"amount": float("nan")}, "Amount pinched or let"),
    ],
)
def test_what_makes_no_sense_is_refused(
    place: str, seen: str, more: dict[str, object], sentence: str
) -> None:
    with pytest.raises(ValueError, match=sentence):
        meanings(TABLE, place, seen, **more)  # type: ignore[arg-type]
