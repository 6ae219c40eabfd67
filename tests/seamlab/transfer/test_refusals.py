"""What a file may say wrongly, and that nothing of it is kept then."""

import io
from datetime import UTC, datetime
from typing import Any

import pytest

from seamlab.calc.transfer_cells import number, shares
from seamlab.models import Cloth, SeamTrial, Thread
from seamlab.services import transfer
from studio.platform.errors import Conflict, NotAllowed, Refused
from tests.seamlab import sewing_room

CLOTH = "Cloth,Structure,Fibres,Weight (g/m²),Width (cm)\n"
TRIAL = "Recipe,Cloth,Machine,Length before (mm),Length after (mm),Stretched (mm),Pull ended,Verdict,Sewn\n"


def upload(house: Any, text: str, name: str = "table.csv", **what: Any) -> Any:
    return transfer.upload_library(house.instructor, content=io.BytesIO(text.encode()), name=name, **what)


def told(found: Any) -> list[tuple[int, str, str]]:
    return [(each["row"], each["column"], each["reason"]) for each in found.problems]


def test_every_problem_is_named_by_row_and_column_and_nothing_is_kept(in_house: Any) -> None:
    found = upload(
        in_house,
        CLOTH
        + "Moss poplin,woven,100 % cotton,115,150\n"
        + "Sand satin,woven,60 % silk; 41 % cotton,70,140\n"
        + "Grey felt,felted,100 % wool,300,90\n"
        + ",woven,100 % wool,300,90\n"
        + 'Blue rib,knit,"95 % cotton, 5 % elastane","1,240",110\n'
        + "Red rib,knit,cotton and more,240,110\n",
    )
    assert found.state == "checked"
    assert not found.may_take_over
    reasons = told(found)
    assert [(row, column) for row, column, _ in reasons] == [
        (3, "Fibres"), (4, "Structure"), (5, "Cloth"), (6, "Weight (g/m²)"), (7, "Fibres"),
    ]  # fmt: skip
    assert "101" in reasons[0][2]
    assert "two ways" in reasons[3][2]
    assert not Cloth.objects.exists()
    with pytest.raises(Conflict, match="5 problems"):
        transfer.take_over_library(in_house.instructor, found.id)


def test_a_trial_is_held_to_the_same_rules_as_on_its_page(in_house: Any, shelf: Any) -> None:
    shelf.zigzag("Jersey seam", width="2.5")
    sewing_room.jersey(in_house.instructor)
    sewing_room.cloth(in_house.instructor)
    found = upload(
        in_house,
        TRIAL
        + "Jersey seam,Moss jersey,Table three,200,200,190,stopped,passes,2026-05-04\n"
        + "Jersey seam,Teal twill,Table three,200,200,,,passes,2026-05-04\n"
        + "Jersey seam,Moss jersey,Table four,200,200,,,passes,2026-05-04\n"
        + "Hem,Moss jersey,Table three,200,200,,,passes,2026-05-04\n"
        + "Jersey seam,Moss jersey,Table three,200,200,215,broke,passes,2026-05-04\n"
        + "Jersey seam,Moss jersey,Table three,200,200,,,passes,03/04/2026\n"
        + "Jersey seam,Moss jersey,Table three,200,=A1+1,,,passes,2026-05-04\n"
        + "Jersey seam,Moss jersey,Table three,200,200,,,passes,2036-05-04\n",
    )
    reasons = {row: (column, words) for row, column, words in told(found)}
    assert reasons[2][0] == "Stretched (mm)"
    assert "shorter than the sewn sample" in reasons[2][1]
    assert reasons[3][0] == "Cloth"
    assert "woven" in reasons[3][1]
    assert reasons[4] == (
        "Machine", "There is no machine called “Table four”, neither here nor in this file.",
    )  # fmt: skip
    assert reasons[5][0] == "Recipe"
    assert reasons[6][0] == "Why other than proposed"
    assert "fails" in reasons[6][1]
    assert reasons[7][0] == "Sewn"
    assert "two ways" in reasons[7][1]
    assert reasons[8][0] == "Length after (mm)"
    assert reasons[9][0] == "Sewn"
    assert "future" in reasons[9][1]
    assert not SeamTrial.objects.exists()


def test_another_value_for_a_known_name_is_refused_and_the_same_is_known(in_house: Any) -> None:
    first = "Thread,Fibre,Size,Numbering\nMoss spun,polyester,27,tex\n"
    found = upload(in_house, first)
    assert transfer.take_over_library(in_house.instructor, found.id).state == "taken_over"
    with pytest.raises(Conflict, match="taken over already"):
        transfer.take_over_library(in_house.instructor, found.id)
    found = upload(in_house, "Thread,Fibre,Size\nmoss spun,polyester,40\nPlum spun,polyester,40\n")
    (number, column, reason) = told(found)[0]
    assert (number, column) == (2, "Size")
    assert "here already with “27”, not “40”" in reason
    same = upload(in_house, "Thread,Fibre,Size,Numbering\nMoss spun,Polyester,27,tex\n")
    assert (same.problem_count, same.new) == (0, 0)
    with pytest.raises(Conflict, match="here already"):
        transfer.take_over_library(in_house.instructor, same.id)
    assert Thread.objects.count() == 1


def test_a_recipe_changed_in_the_file_is_its_next_version_and_no_other(in_house: Any, shelf: Any) -> None:
    shelf.recipe("Plain seam")
    heads = (
        "Recipe,Version,Purpose,Seam class (ISO 4916),Cloth structure,Stitch type (ISO 4915),Stitch length (mm),"
        "Needle thread,Needle\n"
    )
    row = "Plain seam,{},{},1,woven,301,{},Grey all-purpose,80 round\n"
    wrong = upload(
        in_house, heads + row.format(3, "join", 3) + row.format(2, "hem", 3) + row.format("", "join", 3)
    )
    assert [(number, column) for number, column, _ in told(wrong)] == [
        (2, "Version"), (3, "Purpose"), (4, "Stitch length (mm)"),
    ]  # fmt: skip
    right = upload(in_house, heads + row.format(1, "join", "2.5") + row.format(2, "join", 3))
    assert [(each["new"], each["there"]) for each in right.tables] == [(1, 1)]


@pytest.mark.parametrize(
    ("text", "what", "words"),
    [
        ("Colour,Smell\nred,roses\n", {}, "No row was recognised"),
        ("", {}, "empty"),
        (CLOTH, {"table": "trials"}, "it needs Recipe, Cloth, Verdict, Sewn"),
        (CLOTH, {"table": "dresses"}, "no table 'dresses'"),
    ],
)
def test_what_is_no_table_of_ours_is_refused(in_house: Any, text: str, what: Any, words: str) -> None:
    with pytest.raises(Refused, match=words):
        upload(in_house, text, **what)


def test_a_clerk_brings_nothing_in_and_another_studio_sees_nothing(house: Any, other_house: Any) -> None:
    with house.scope():
        with pytest.raises(NotAllowed):
            transfer.upload_library(house.clerk, content=io.BytesIO(b"x"), name="x")
        found = upload(house, CLOTH + "Moss poplin,woven,,115,150\n")
    with other_house.scope(), pytest.raises(Exception, match="no such import"):
        transfer.take_over_library(other_house.instructor, found.id)


def test_shares_and_numbers_are_read_as_people_write_them() -> None:
    assert [(part["fibre"], float(part["percent"])) for part in shares("66,7% cotton, 33,3 % flax")] == [
        ("cotton", 66.7),
        ("flax", 33.3),
    ]
    assert float(number("2,5")) == 2.5
    with pytest.raises(ValueError, match="two ways"):
        number("1,240")


def test_moments_keep_their_instant() -> None:
    from zoneinfo import ZoneInfo

    from seamlab.services.transfer_export import cell_of

    instant = datetime(2026, 5, 6, 7, 8, 9, 123456, tzinfo=UTC)
    assert datetime.fromisoformat(cell_of(instant, ZoneInfo("Europe/London"))) == instant
