"""Out of one studio and into another: the same facts arrive, and nothing twice."""

import io
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

import pytest
from django.core.files.storage import default_storage

from seamlab.models import Cloth, Machine, SeamRecipe, SeamRecipeVersion, SeamTrial, Thread
from seamlab.queries.seams import proven_for
from seamlab.queries.transfer import export_file
from seamlab.queries.transfer_rows import rows_of
from seamlab.queries.transfer_tables import TABLES
from seamlab.services import machines, seams, supplies, transfer, transfer_export
from seamlab.services.library import take_in_library
from seamlab.services.settings import SETTING_NAMES
from studio.platform.jobs import run_job
from tests.seamlab import sewing_room

TOLD = {"written_by", "written_at", "tested_by", "percent", "sewn_by"}


def fill(actor: Any) -> None:
    """Something of every kind, with what makes trouble in tables: commas, quotes, a cell like a formula."""
    shelf = sewing_room.room(actor)
    twill = sewing_room.cloth(actor, "Teal twill, 'heavy'", notes="=1+1", care="Wash, dry;\nthen press")
    take_in_library(actor)
    jersey = sewing_room.jersey(actor, direction="two_way", kind="single_jersey", colour="moss, light")
    supplies.record_thread(
        actor,
        name="Plum filament",
        fibre="polyamide",
        size=Decimal(40),
        colours=[{"colour": "plum", "reels": 3}, "rose"],
        reel_length_m=Decimal(500),
    )
    supplies.record_needle(actor, size=75, point="medium_ball", blades=2, gauge_mm=Decimal("2.5"))
    machines.record_machine(
        actor,
        name="Overlock",
        stitch_types=["504"],
        largest_width_mm=Decimal(6),
        feeds=["differential"],
        feet=["blind hem"],
    )
    plain = shelf.recipe("Plain seam")
    wider = seams.change_recipe(
        actor, plain.recipe_id, settings=shelf.settings(stitch_length_mm=Decimal("3.25"), tension="+4")
    )
    zigzag = shelf.zigzag()
    shelf.trial(
        plain,
        twill,
        unpicked_length_mm=Decimal(150),
        needle_thread_mm=Decimal(195),
        sewing_seconds=Decimal("8.5"),
    )
    shelf.trial(wider, twill, verdict="fails", verdict_reason="The thread's colour shows, by daylight")
    shelf.trial(
        zigzag, jersey, sewn_at=datetime(2026, 5, 6, 7, 8, 9, 123456, tzinfo=UTC), direction="crosswise"
    )
    shelf.trial(zigzag, jersey)
    shelf.trial(zigzag, jersey)  # a second sample that came out the same


def exported(house: Any, **what: Any) -> io.BytesIO:
    with house.scope():
        job = transfer_export.export_library(house.instructor, **what)
    assert run_job(house.studio_id, job.pk) == "done"
    with house.scope():
        file = export_file(house.instructor, job.pk)
        with default_storage.open(file.key, "rb") as stored:
            return io.BytesIO(stored.read())


def everything() -> dict[str, list[dict[str, Any]]]:
    return {
        table.code: [{k: v for k, v in row.items() if k not in TOLD} for row in rows_of(table.code)]
        for table in TABLES
    }


@pytest.mark.parametrize("form", ["xlsx", "csv"])
def test_a_library_arrives_whole_in_another_studio_and_only_once(
    house: Any, other_house: Any, form: str
) -> None:
    with house.scope():
        fill(house.instructor)
        sent = everything()
        ranked = proven_for(house.instructor, Cloth.objects.get(name="Moss jersey").pk, purpose="join")
    assert all(sent.values()), "every table has something to carry"
    books = (
        [exported(house)]
        if form == "xlsx"
        else [exported(house, file_form="csv", table=table.code) for table in TABLES]
    )
    with other_house.scope():
        actor = other_house.instructor
        for book in books:
            found = transfer.upload_library(actor, content=book, name="library." + form)
            assert (found.problems, found.state) == ([], "checked")
            if form == "xlsx":
                assert not Thread.objects.exists(), "a dry run changes nothing"
            assert transfer.take_over_library(actor, found.id).state == "taken_over"
        assert everything() == sent
        kept = SeamRecipe.objects.exclude(library_key="")
        assert {recipe.origin for recipe in kept} == {"library"}
        assert take_in_library(actor).recipes == 0, "what came by the file is not taken in twice"
        again = proven_for(actor, Cloth.objects.get(name="Moss jersey").pk, purpose="join")
        assert [(a.name, a.trials, a.passes, a.lower) for a in again] == [
            (a.name, a.trials, a.passes, a.lower) for a in ranked
        ]
        for book in books:
            found = transfer.upload_library(actor, content=book, name="library." + form)
            assert (found.problems, found.new) == ([], 0), "the same file brings nothing twice"


def test_every_fact_has_a_column() -> None:
    """A new setting, figure or fact must travel too, or be named here as one that does not."""
    columns = {table.code: {column.key for column in table.columns} for table in TABLES}
    stays = {"id", "studio_id", "version", "created_at", "changed_at", "is_hidden"}
    by_name = {"needle_thread_id", "under_thread_id", "needle_id"}

    def fields(model: Any) -> set[str]:
        return {field.attname for field in model._meta.concrete_fields}

    assert {name.removesuffix("_id") if name in by_name else name for name in SETTING_NAMES} <= columns[
        "recipes"
    ]
    assert fields(Cloth) - stays <= columns["cloths"]
    assert fields(Machine) - stays <= columns["machines"]
    assert fields(Thread) - stays - {"tex"} <= columns["threads"]
    # Where a trial's reasons come from, is judged again; the checklist belongs to the page that asked it.
    elsewhere = {"version_id", "cloth_id", "machine_id", "sewn_by_id", "reasons", "checklist"}
    assert fields(SeamTrial) - stays - elsewhere <= columns["trials"]
    assert (
        fields(SeamRecipeVersion) - stays - by_name - {"recipe_id", "written_by_id", "basis"}
        <= columns["recipes"]
    )
