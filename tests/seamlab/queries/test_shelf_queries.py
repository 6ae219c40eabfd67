"""Reading bolts, laboratory figures, photographs and conversion tables: what counts, and how often is asked."""

from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from seamlab.queries import bolts, conversions, laboratory
from seamlab.queries import cloth as cloth_queries
from seamlab.services import bolts as bolt_services
from seamlab.services.laboratory import record_lab_figures
from tests.seamlab import sewing_room


@pytest.fixture
def cloth(in_house):
    return sewing_room.cloth(in_house.instructor)


def report(actor, cloth, when=date(2026, 3, 2), **figures):
    rows = []
    for name, value in figures.items():
        quantity, _, way = name.partition("__")
        rows.append({"quantity": quantity, "way": way, "value": value})
    return record_lab_figures(actor, cloth.pk, figures=rows, tested_on=when)


def test_what_remains_follows_from_the_newest_record(in_house, cloth):
    actor = in_house.instructor
    one = bolt_services.record_bolt(actor, cloth_id=cloth.pk, label="A", length_mm=Decimal(9000))
    two = bolt_services.record_bolt(actor, cloth_id=cloth.pk, label="B", length_mm=Decimal(4000))
    for length in (Decimal("1500.5"), Decimal(2000)):
        bolt_services.cut_bolt(actor, one.pk, length_mm=length, reason="skirt")
    bolt_services.count_bolt(actor, one.pk, length_mm=Decimal(5400), reason="stock-taking")
    bolt_services.cut_bolt(actor, one.pk, length_mm=Decimal(400), reason="sample")
    with CaptureQueriesContext(connection) as seen:
        remaining = {bolt.label: bolt.remaining_mm for bolt in bolts.bolt_list(actor)}
    assert len(seen) == 1
    assert remaining == {"A": Decimal(5000), "B": Decimal(4000)}
    records = bolts.bolt_get(actor, one.pk).records.all()
    assert [(row.number, row.kind, row.remaining_mm) for row in records] == [
        (4, "cut", Decimal(5000)),
        (3, "counted", Decimal(5400)),
        (2, "cut", Decimal("5499.5")),
        (1, "cut", Decimal("7499.5")),
    ]
    assert bolts.remaining_of_cloth(actor, cloth.pk) == Decimal(9000)
    bolt_services.change_bolt(actor, two.pk, changes={"is_hidden": True})
    assert bolts.remaining_of_cloth(actor, cloth.pk) == Decimal(5000)


def test_derived_figures_by_the_published_formulas(in_house, cloth):
    """W 168 g/m2 and C 15.00 (mean of 15.33 and 14.67) give 5.56 uN.m; EB5 3 % gives 41.0 N/m; (4.0 - 1.5) x 5.56 /
    14.7 = 0.9456 mm2: a student laboratory report on the wool test set; 123 and 14.7 from memory."""
    found = sewing_room.cloth(in_house.instructor, "Report cloth", weight_gsm=Decimal(168))
    report(
        in_house.instructor, found, bias_extension="3", bending_face__lengthwise="15.33",
        bending_back__lengthwise="14.67", extension_5__lengthwise="1.5", extension_20__lengthwise="4.0",
    )  # fmt: skip
    with CaptureQueriesContext(connection) as seen:
        reading = laboratory.lab_reading(in_house.instructor, found)
    assert len(seen) == 1
    told = {(row.words, row.way): (row.text, row.unit) for row in reading.derived}
    assert told["Shear rigidity", ""] == ("41", "N/m")
    assert told["Bending rigidity", "lengthwise"] == ("5.56", "µN·m")
    assert told["Formability", "lengthwise"] == ("0.946", "mm²")
    assert reading.around == ()
    assert reading.missing == ("the extension (or modulus) crosswise",)


def test_the_newest_report_counts_and_the_lightest_pull(in_house, cloth):
    actor = in_house.instructor
    report(
        actor,
        cloth,
        date(2026, 4, 1),
        bias_extension="3.075",
        modulus__lengthwise="1000",
        modulus__crosswise="800",
    )
    report(actor, cloth, date(2025, 4, 1), bias_extension="6", poisson="0.2")
    reading = laboratory.lab_reading(actor, cloth)
    # 123 / 3.075 = 40 N/m; with nu 0.2 the sheet gives 148.9758 N/m at 45 degrees (standard mechanics).
    assert {row.angle_deg: row.modulus for row in reading.table}[45] == pytest.approx(148.9758, abs=1e-4)
    assert reading.older == 1
    assert [row.rows[0][0] for row in laboratory.lab_reports(actor, cloth.pk)] == [
        "Bias extension under 5 gf/cm (%)",
        "Bias extension under 5 gf/cm (%)",
    ]
    other = sewing_room.cloth(actor, "Other")
    report(
        actor, other, bias_extension="3", extension_5__lengthwise="0.5", extension_100__lengthwise="2",
        extension_100__crosswise="3",
    )  # fmt: skip
    reading = laboratory.lab_reading(actor, other)
    assert reading.table[0].give_percent == pytest.approx(
        0.5
    )  # 5 gf/cm gave 0.5 %, so it gives 0.5 % under 5 gf/cm
    assert any("Crosswise only the extension under 100 gf/cm" in words for words in reading.sentences)


def test_figures_of_no_possible_cloth_are_told_and_not_drawn(in_house, cloth):
    report(
        in_house.instructor, cloth, bias_extension="3", modulus__lengthwise="100", modulus__crosswise="1000",
        poisson="0.9",
    )  # fmt: skip
    reading = laboratory.lab_reading(in_house.instructor, cloth)
    assert reading.around == ()
    assert "can't belong to one cloth" in reading.trouble


def test_put_away_cloth_is_found_only_when_asked_for(in_house, cloth):
    from seamlab.services.cloth import change_cloth

    actor = in_house.instructor
    change_cloth(actor, cloth.pk, changes={"kind": "suiting", "colour": "petrol"})
    assert [row.pk for row in cloth_queries.cloth_list(actor, "petrol suiting")] == [cloth.pk]
    change_cloth(actor, cloth.pk, changes={"is_hidden": True})
    assert not cloth_queries.cloth_list(actor, "petrol").exists()
    assert cloth_queries.cloth_list(actor, "petrol", with_hidden=True).exists()


def test_conversion_tables_agree_with_published_ones():
    """tex 40 is ticket 75 (several pages); NM 90 is 14, blade 0.90 mm (two trade pages); 10 stitches an inch are
    2.54 mm, 1 oz/yd2 33.906 g/m2 (definitions of inch, ounce and yard)."""
    threads = conversions.thread_table()
    row = dict(zip(threads.heads, next(row for row in threads.rows if row[0] == "40"), strict=True))
    assert (row["metric ticket"], row["Nec"], row["cotton ticket"]) == ("75", "14.76", "44.29")
    assert ("90", "14", "0.90") in conversions.needle_table().rows
    assert ("10", "2.5", "3.9") in conversions.stitch_length_table().rows
    assert ("10", "339") in conversions.weight_table().rows
    assert conversions.ounces(Decimal("339.06")) == Decimal("10.0")
    for table in (threads, conversions.needle_table(), conversions.needle_for_thread_table()):
        assert table.source
        assert all(len(cells) == len(table.heads) for cells in table.rows)
