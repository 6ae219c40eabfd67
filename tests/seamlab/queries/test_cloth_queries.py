"""Reading cloth: found by words, with the newest tests, in a constant number of queries."""

from decimal import Decimal
from uuid import uuid4

import pytest

from seamlab.queries import cloth as queries
from seamlab.services import cloth as services
from studio.platform.errors import NotHere
from tests.seamlab import sewing_room


def test_cloth_is_found_by_words_of_name_and_fibre(in_house):
    sewing_room.cloth(in_house.instructor)
    sewing_room.cloth(in_house.instructor, "Sand canvas", fibres=[{"fibre": "flax", "percent": 100}])
    names = lambda words: [row.name for row in queries.cloth_list(in_house.clerk, words)]  # noqa: E731
    assert names("") == ["Sand canvas", "Teal twill"]
    assert names("twi TEAL") == ["Teal twill"]
    assert names("linen") == ["Sand canvas"]
    assert names("teal linen") == []


def test_the_list_shows_the_newest_stretch_in_one_query(in_house, django_assert_num_queries):
    first = sewing_room.jersey(in_house.instructor)
    services.test_stretch(
        in_house.instructor, first.pk, way="lengthwise", relaxed_mm=Decimal(100), stretched_mm=Decimal(118)
    )
    for count in range(6):
        sewing_room.jersey(in_house.instructor, f"Jersey {count}")
    sewing_room.cloth(in_house.instructor)
    with django_assert_num_queries(1):
        rows = {
            row.name: (row.stretch_lengthwise, row.stretch_crosswise)
            for row in queries.cloth_list(in_house.clerk)
        }
    assert rows["Moss jersey"] == (Decimal(18), Decimal(50))
    assert rows["Teal twill"] == (None, None)


def test_figures_take_the_newest_tests_in_two_queries(in_house, django_assert_num_queries):
    made = sewing_room.jersey(in_house.instructor)
    services.test_stretch(
        in_house.instructor, made.pk, way="crosswise", relaxed_mm=Decimal(100), stretched_mm=Decimal(144)
    )
    services.test_wash(
        in_house.instructor, made.pk, way="lengthwise", before_mm=Decimal(500), after_mm=Decimal(480)
    )
    with django_assert_num_queries(2):
        found = queries.cloth_get(in_house.clerk, made.pk)
        figures = queries.cloth_figures(found)
        newest = queries.newest_tests(found)
    assert (figures.stretch_lengthwise_percent, figures.stretch_crosswise_percent) == (30.0, 44.0)
    assert (figures.structure, figures.thickness_mm, figures.key) == ("knit", 0.7, str(made.pk))
    assert newest.wash_lengthwise.percent == Decimal("-4.00")
    assert newest.wash_crosswise is None


def test_fibres_read_most_first(in_house):
    made = sewing_room.cloth(
        in_house.instructor,
        fibres=[{"fibre": "elastane", "percent": 4.5}, {"fibre": "cotton", "percent": 95.5}],
    )
    assert queries.fibre_words(made) == "95.5\u00a0% cotton, 4.5\u00a0% elastane"


def test_every_direction_is_explained():
    assert set(queries.DIRECTION_WORDS) == {"nap", "one_way_print", "sheen", "two_way", "not_known"}


def test_another_studios_cloth_is_not_here(house, other_house):
    with other_house.scope():
        theirs = sewing_room.jersey(other_house.instructor)
    with house.scope():
        assert list(queries.cloth_list(house.owner)) == []
        for key in (theirs.pk, uuid4()):
            with pytest.raises(NotHere):
                queries.cloth_get(house.owner, key)
            with pytest.raises(NotHere):
                queries.cloth_tests(house.owner, key, kind="stretch")


def test_cloth_that_shrinks_is_cut_longer(in_house):
    """3 % lost by washing (50.0 cm became 48.5 cm: AATCC TM135's signed form): 100 cm come from 100 / 0.97 cm."""
    made = sewing_room.cloth(in_house.instructor)
    services.test_wash(
        in_house.instructor, made.pk, way="lengthwise", before_mm=Decimal(500), after_mm=Decimal(485)
    )
    newest = queries.newest_tests(queries.cloth_get(in_house.instructor, made.pk))
    assert queries.unwashed_lengths(newest) == [("lengthwise", Decimal("1030.9"))]
