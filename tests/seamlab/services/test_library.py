"""The starting library: broad enough, sound by the house's own rules, taken in once, untested until a sample passes.

Its figures are common practice without a source; a needle with a source names it (needle-technology note: light
shirting NM 65 to 75, suiting 80 to 90, coating 100 to 110). Thread to needle: the trade's table (common practice, no
source).
"""

from decimal import Decimal

import pytest

from seamlab.calc import suits
from seamlab.models import Needle, SeamRecipe, SeamRecipeVersion, Thread
from seamlab.queries import seams
from seamlab.queries.candidates import likely_kind
from seamlab.queries.library import library, library_page, library_standing
from seamlab.queries.mapping import settings_figures
from seamlab.queries.tables import cloth_kinds, fibre_named, seam_classes, stitch_types
from seamlab.services import supplies
from seamlab.services.library import take_in_library
from seamlab.services.seams import change_recipe, settings_of_version
from studio.platform.errors import NotAllowed
from studio.platform.models import AuditEntry
from tests.seamlab import sewing_room

SOURCED = {"light shirting": (65, 75), "suiting": (80, 90), "coating": (100, 110)}


def test_the_library_is_broad_and_every_row_is_of_the_trades_tables():
    rows = library().recipes
    assert len(rows) >= 40
    assert len({kind for row in rows for kind in row.written_for}) >= 15
    assert len({row.key for row in rows}) == len({row.name for row in rows}) == len(rows)
    assert {row.purpose for row in rows} == set(SeamRecipe.Purpose.values)  # something for every purpose
    for row in rows:
        assert row.seam_class in seam_classes()
        assert row.stitch_type in stitch_types()
        assert row.written_for
        assert {cloth_kinds()[kind].structure for kind in row.written_for} == {row.structure}, row.key
        assert row.needle_thread in library().threads
        assert row.needle is None or row.needle[1] in Needle.Point.values
    assert all(fibre_named(thread.fibre) == thread.fibre for thread in library().threads.values())


def test_every_figure_says_what_it_rests_on():
    for row in library().recipes:
        assert row.basis["figures"] == "common practice, no source"
        assert "no source" in row.basis["thread"]
        assert row.basis["needle"]
        assert ("cautions" in row.basis) == bool(row.cautions)
        for words, (low, high) in SOURCED.items():
            if words in row.basis["needle"]:
                assert low <= row.needle[0] <= high, row.key


@pytest.mark.parametrize("row", library().recipes, ids=lambda row: row.key)
def test_no_recipe_breaks_the_houses_own_rules(row):
    """Ball points for knits, a needle that the thread fits, and no sharp edge without its caution."""
    thread, under = library().threads[row.needle_thread], library().threads.get(row.under_thread or "")
    settings = suits.SeamSettings(
        row.stitch_type,
        float(row.stitch_length_mm),
        float(row.stitch_width_mm),
        row.passes,
        float(thread.tex),
        row.needle_thread_ends,
        None if thread.extension_percent is None else float(thread.extension_percent),
        "same" if under is None else float(under.extension_percent or 0),
        row.needle[0] if row.needle else None,
        row.needle[1] if row.needle else "",
    )
    cloth = suits.ClothFigures(row.structure, 200, None, 0, 0)
    assert suits.objections(settings, cloth) == ()
    # A plain zigzag or straight seam for a jersey follows 50 % by its geometry.
    if row.purpose == "join" and "single_jersey" in row.written_for and row.stitch_type in ("301", "304"):
        assert suits.seam_extension(settings, 0).low >= 50
    if row.stitch_type in ("504", "514"):
        assert "knife" in row.cautions
    if row.purpose == "elastic":
        assert "latex" in row.cautions


def test_it_is_taken_in_once_and_uses_what_is_on_the_shelf(shelf):
    supplies.record_thread(
        shelf.actor, name="Our own grey", fibre="polyester", construction="spun", size=Decimal(26)
    )
    before = Thread.objects.count()
    taken = take_in_library(shelf.actor)
    assert taken.recipes == len(library().recipes) == SeamRecipe.objects.filter(origin="library").count()
    # The room's thread of tex 27 serves for the library's of 27; what is missing was recorded.
    assert not Thread.objects.filter(name=library().threads["all_poly"].name).exists()
    assert Thread.objects.count() == before + taken.threads
    assert Needle.objects.filter(metric=80, point="round").count() == 1
    assert library_standing(shelf.actor).missing == 0
    again = take_in_library(shelf.actor)
    assert (again.recipes, again.threads, again.needles) == (0, 0, 0)
    (entry,) = AuditEntry.objects.filter(act="take_in_library")
    assert entry.detail["recipes"] == taken.recipes


def test_each_is_untested_here_until_a_sample_of_this_studio_passes(shelf, django_assert_num_queries):
    take_in_library(shelf.actor)
    recipe = SeamRecipe.objects.get(library_key="jersey_zigzag")
    version = recipe.versions.get()
    jersey = sewing_room.jersey(shelf.actor)

    def standing():
        with django_assert_num_queries(2):
            rows = library_page(shelf.actor)["rows"]
        return {row.recipe.key: row.standing for row in rows}["jersey_zigzag"]

    assert {row.standing for row in library_page(shelf.actor)["rows"]} == {"untested here"}
    shelf.trial(version, jersey, skipped_stitches=3)
    assert standing() == "untested here"
    (row,) = [
        row
        for group in seams.recipe_page(shelf.actor, words="narrow zigzag jersey").groups
        for row in group.rows
        if row.recipe.pk == recipe.pk
    ]
    assert (row.standing, row.evidence) == ("tried", "0 of 1 passed")
    shelf.trial(version, jersey)
    assert standing() == "proven here"


def test_a_changed_figure_loses_its_basis_and_the_others_keep_theirs(shelf):
    take_in_library(shelf.actor)
    version = SeamRecipeVersion.objects.get(recipe__library_key="suiting_plain")
    given = settings_of_version(version)
    changed = change_recipe(
        shelf.actor,
        version.recipe_id,
        settings=type(given)(**{**vars_of(given), "stitch_length_mm": Decimal(3)}),
    )
    assert "suiting NM 80 to 90" in changed.basis["needle"]
    assert "figures" not in changed.basis


def vars_of(settings):
    return {name: getattr(settings, name) for name in settings.__dataclass_fields__}


def test_what_the_studio_changed_or_named_so_stays_as_it_is(shelf):
    shelf.recipe(library().recipes[0].name)
    take_in_library(shelf.actor)
    assert SeamRecipe.objects.filter(name=f"{library().recipes[0].name} (library)").exists()


def test_a_clerk_takes_nothing_in_and_another_studio_has_its_own(house, other_house):
    with other_house.scope():
        take_in_library(other_house.instructor)
    with house.scope():
        assert library_standing(house.clerk).taken_in == 0
        with pytest.raises(NotAllowed):
            take_in_library(house.clerk)


@pytest.mark.parametrize(
    ("name", "construction", "structure", "kind"),
    [
        ("Plum jersey", "single jersey", "knit", "single_jersey"),
        ("Unbleached cotton calico", "plain weave", "woven", "calico"),
        ("Blue stretch denim, washed", "", "woven", "stretch_denim"),
        ("Teal wool twill", "twill", "woven", ""),
        ("Denim look", "jersey", "knit", ""),
    ],
)
def test_a_cloths_own_words_tell_its_kind(name, construction, structure, kind):
    assert likely_kind(name, construction, structure) == kind


def test_settings_of_a_version_become_figures(shelf):
    take_in_library(shelf.actor)
    version = seams.version_get(
        shelf.actor, SeamRecipeVersion.objects.get(recipe__library_key="jersey_extensible").pk
    )
    assert settings_figures(version).needle_extension_percent == 65
