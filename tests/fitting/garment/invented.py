"""Invented people, paper and bodies for the tests of the garment half; nothing here is measured on anybody."""

from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from fitting.calc import alteration
from fitting.calc.ease import EaseRule
from fitting.calc.plan_parts import LENGTHS
from fitting.calc.sizing import SizeRow
from fitting.queries.plan_text import say_in
from fitting.reports.snapshot import (
    CareFact,
    CautionFact,
    FittingFact,
    MeasureFact,
    NoteFact,
    ReportFacts,
    SeamFact,
    UsualFact,
)

RULES = {
    "waist": EaseRule(10, 20, 30, "Invented rule for tests"),
    "hip": EaseRule(40, 60, 80, "Invented rule for tests"),
    "waist_to_hip": EaseRule(-10, 0, 10, "Invented rule for tests"),
    "rise": EaseRule(10, 20, 30, "Invented rule for tests"),
    "leg": EaseRule(-10, 0, 15, "Invented rule for tests"),
}
BODY = {"waist": 742.0, "hip": 1010.0, "waist_to_hip": 205.0, "rise": 268.0, "leg": 778.0}
BODY_MEASURES = {
    "waist": "waist_girth",
    "hip": "hip_girth",
    "waist_to_hip": "waist_to_hip",
    "rise": "body_rise",
    "leg": "inside_leg",
}
PAPER = [
    SizeRow("38", {"waist": 720, "hip": 1000, "waist_to_hip": 200, "rise": 280, "leg": 800}),
    SizeRow("40", {"waist": 760, "hip": 1040, "waist_to_hip": 203, "rise": 284, "leg": 802}),
    SizeRow("42", {"waist": 800, "hip": 1080, "waist_to_hip": 206, "rise": 288, "leg": 804}),
]


def plan_rows(unit: str = "cm") -> tuple[dict[str, Any], dict[str, Any]]:
    """(inputs, result) of an invented trousers plan, as a FitPlan row stores them."""
    import json
    from dataclasses import asdict

    errors = {"waist": 9.8, "hip": 9.8, "waist_to_hip": 7.8, "rise": 7.8, "leg": 9.8}
    made = alteration.plan(
        BODY,
        PAPER,
        ["waist", "hip"],
        RULES,
        errors,
        lengths=[length for length in LENGTHS if length.code in {"waist_to_hip", "rise", "leg"}],
        readings=BODY_MEASURES,
        say=say_in(unit),
    )
    inputs = {
        "unit": unit,
        "errors": errors,
        "body": {zone: {"measure": BODY_MEASURES[zone], "value_mm": value} for zone, value in BODY.items()},
    }
    return inputs, json.loads(json.dumps(asdict(made)))


def trousers_facts(**changes: Any) -> ReportFacts:
    """The facts of a full report: measures, plan, seams, two fittings, a child's cautions."""
    from fitting.models import FitPlan
    from fitting.queries.planned import read_plan
    from fitting.queries.report_facts import alterations_in, blends_in, zone_in, zones_in
    from fitting.reports.voice import Voice
    from studio.platform.models.base import new_id
    from studio.queries.catalogue import catalogue

    unit = changes.get("unit", "cm")
    voice = Voice(changes.get("language", "en"), unit)
    inputs, result = plan_rows(unit)
    planned = read_plan(FitPlan(studio_id=new_id(), inputs=inputs, result=result, number=1))
    figures = {
        "height": 1686, "waist_girth": 742, "abdomen_girth": 905, "high_hip_girth": 948, "hip_girth": 1010,
        "waist_to_hip": 205, "body_rise": 268, "crotch_length": 690, "outside_leg": 1046, "inside_leg": 778,
        "thigh_girth": 584, "knee_girth": 372, "calf_girth": 361, "ankle_girth": 231,
    }  # fmt: skip
    known = catalogue().measures
    taken_in = voice(
        "{decision} {length} in all",
        decision=voice.name("Take in", "decision"),
        length=voice.figure("1.2 cm"),
    )
    facts: dict[str, Any] = {
        "studio_name": "Thimble Row",
        "studio_address": "4 Needle Yard\nMilbridge",
        "client_name": "Olia Carvalho",
        "language": voice.language,
        "unit": unit,
        "with_figures": True,
        "is_child": False,
        "garment_words": "teal trousers",
        "garment_kind": "trousers",
        "garment_kind_words": voice.name("Trousers", "kind"),
        "pattern": "Straight trousers, side zip",
        "cloth": "Teal wool twill",
        "due": voice.day(date(2026, 12, 18)),
        "number": 1,
        "issued_at": datetime(2026, 11, 25, 16, 40, tzinfo=ZoneInfo("Europe/Lisbon")),
        "corrects": None,
        "measured_on": voice.day(date(2026, 11, 12)),
        "measures": tuple(
            MeasureFact(
                code,
                voice.name(known[code].name, "measure"),
                voice.figure(known[code].in_words(figures[code], unit)),
                voice.figure(known[code].change_in_words(700, 718, unit)) if code == "waist_girth" else "",
                known[code].figure,
                known[code].side,
            )
            for code in known
            if code in figures
        ),
        "sizes": tuple((zone_in(zone.zone, voice), zone.size) for zone in planned.zones if zone.kind == "width"),
        "blends": blends_in(result, voice),
        "zones": zones_in(planned, voice),
        "alterations": alterations_in(planned.alterations, voice),
        "seams": (
            SeamFact(
                "Side seams",
                "Plain seam, pressed open",
                "Lockstitch (ISO 4915 type 301), 2.5 mm long; needle 80/12, round point; thread Polyester (40 tex).",
                voice("proven by a sample on this cloth on {day}", day=voice.day(date(2026, 11, 14))),
            ),
            SeamFact("Hem", "Blind hem by hand", "", voice("sample to come")),
        ),
        "care": (CareFact("Teal wool twill", (voice("Made of {fibres}.", fibres="100 % wool"),)),),
        "usual": (UsualFact(voice.name("Leg length", "place"), "shortened by 2.4 cm on average, in 3 of 3 garments"),),
        "is_planned": True,
        "fittings": (
            FittingFact(
                voice.name("Toile", "fitting"),
                voice.day(date(2026, 11, 14)),
                "Rosa Almeida",
                "low shoes",
                (NoteFact("Crotch seam", "drag lines from the crotch point to the knee",
                          voice.name("Reshape the seam", "decision"),
                          "scoop the back fork by a finger's width"),),
                voice(
                    "Signed off by {name} on {day}, with your agreement.",
                    name="Rosa Almeida",
                    day=voice.day(date(2026, 11, 14)),
                ),
            ),
            FittingFact(
                voice.name("Basted", "fitting"),
                voice.day(date(2026, 11, 21)),
                "Rosa Almeida",
                "low shoes, the belt you will wear",
                (
                    NoteFact(
                        "Waist, left",
                        "the band stands away when sitting",
                        taken_in,
                        "at the back seam",
                    ),
                    NoteFact("Hem", "breaks on the shoe as wished", voice.name("Leave as it is", "decision"), ""),
                ),
                voice(
                    "Signed off by {name} on {day}, with your agreement.",
                    name="Rosa Almeida",
                    day=voice.day(date(2026, 11, 21)),
                ),
            ),
        ),
        "cautions": (),
        "next_step": voice("We sew the garment.", "next")
        + " "
        + voice("Your garment is to be ready by {day}.", day=voice.day(date(2026, 12, 18))),
    }  # fmt: skip
    return ReportFacts(**(facts | changes))


LATEX = CautionFact(
    "Latex",
    "Some elastics hold natural rubber latex, to which some people react. Ask the wearer, and read the maker's label.",
    ("professional medical advice where somebody reacts",),
)
