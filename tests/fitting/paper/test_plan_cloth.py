"""A plan looks at the garment's cloth: is it what the paper was drawn for?"""

from decimal import Decimal as D

import pytest

from fitting.queries.plans import plan_get
from fitting.services.garments import open_garment
from fitting.services.patterns import record_pattern
from fitting.services.plans import make_plan
from seamlab.services import cloth as cloths
from tests.fitting.paper.invented import client, measure, sizes


def plum(actor, structure):
    return cloths.record_cloth(
        actor,
        name="Plum jersey",
        structure=structure,
        construction="single jersey" if structure == "knit" else "plain",
        fibres=[{"fibre": "cotton", "percent": 100}],
        weight_gsm=D(180),
        thickness_mm=D("0.8"),
        width_mm=D(1500),
        usable_width_mm=D(1460),
    )


@pytest.mark.parametrize(
    ("structure", "stretched", "words"),
    [
        ("woven", None, "Plum jersey is woven, and the pattern was drawn for knit cloth"),
        ("knit", None, "crosswise stretch of Plum jersey has not been tested; the pattern was drawn for a knit"),
        ("knit", 128, "stretched by 28 % crosswise; the pattern was drawn for a knit that stretches by at least 35 %"),
        ("knit", 140, ""),
    ],
    ids=["woven", "untested", "too-little", "enough"],
)  # fmt: skip
def test_a_cloth_that_is_not_what_the_paper_wants_is_named(in_house, structure, stretched, words):
    actor = in_house.instructor
    who = client(actor)
    measure(actor, who, {"bust_girth": "90"})
    paper = record_pattern(
        actor, name="Tee", kind="tshirt", closeness="close", structure="knit", basis="finished",
        stretch_wanted_percent=D(35), sizes=sizes({"S": {"bust": 84}, "M": {"bust": 88}}),
    )  # fmt: skip
    cloth = plum(actor, structure)
    if stretched is not None:
        cloths.test_stretch(
            actor, cloth.pk, way="crosswise", relaxed_mm=D(100), stretched_mm=D(stretched), released_mm=D(102)
        )
    garment = open_garment(
        actor, client_id=who.pk, kind="tshirt", words="plum tee", pattern_id=paper.pk, cloth_id=cloth.pk
    )
    made = make_plan(actor, client_id=who.pk, pattern_id=paper.pk, garment_id=garment.pk)
    found = [one.words for one in plan_get(actor, made.pk).notices if one.code == "cloth"]
    assert len(found) == bool(words)
    assert all(words in one for one in found)
