"""The tables that people edit agree with the calculations, and say where each value comes from."""

import json
from pathlib import Path

import pytest

import seamlab
from seamlab.calc.seam import STRENGTH_FACTORS
from seamlab.calc.thread import CONSUMPTION_TYPES, consumption

DATA = Path(seamlab.__file__).parent / "data"
STITCHES = json.loads((DATA / "stitches.json").read_text(encoding="utf-8"))
FIBRES = json.loads((DATA / "fibres.json").read_text(encoding="utf-8"))
TYPES = {row["code"]: row for row in STITCHES["stitch_types"]}


def test_codes_are_unique_and_belong_to_their_class():
    assert len(TYPES) == len(STITCHES["stitch_types"])
    classes = {row["code"] for row in STITCHES["stitch_classes"]}
    assert classes == {"100", "200", "300", "400", "500", "600"}  # ISO 4915:1981, classes read
    for code, row in TYPES.items():
        assert row["stitch_class"] == code[0] + "00"
        assert row["stitch_class"] in classes


def test_every_stitch_that_is_calculated_is_in_the_table():
    assert set(CONSUMPTION_TYPES) | set(STRENGTH_FACTORS) <= set(TYPES)


def test_every_value_has_a_status_and_a_source():
    known = set(STITCHES["statuses"])
    for row in STITCHES["stitch_types"]:
        if row["thread_ratio"] is None:
            assert row["ratio_status"] is None
            assert row["split_percent"] is None
        else:
            assert row["thread_ratio"] > 1
            assert row["ratio_status"] in known
            assert row["ratio_source"]
        assert row["split_percent"] is None or sum(row["split_percent"].values()) == 100
    for row in STITCHES["stitch_classes"] + STITCHES["seam_classes"]:
        assert row["status"] in known
        assert row["source"]
    assert [row["code"] for row in STITCHES["seam_classes"]] == list(range(1, 9))


@pytest.mark.parametrize(
    ("code", "low", "high"),
    # Ratios of the thread makers' guides (101, 301) and a measured sample (401: 5.4), for middling settings.
    [("101", 3, 5.5), ("301", 2, 3), ("401", 4, 6)],
)
def test_published_ratio_and_published_geometry_are_of_one_size(code, low, high):
    geometry = consumption(code, 1.0, 0.4)
    assert low <= geometry <= high
    assert low <= TYPES[code]["thread_ratio"] <= high


def test_fibre_names_are_generic_unique_and_sourced():
    names = [row["name"] for row in FIBRES["fibres"]]
    also = [name for row in FIBRES["fibres"] for name in row["also"]]
    assert len(set(names + also)) == len(names + also)
    for row in FIBRES["fibres"]:
        assert row["status"] in FIBRES["statuses"]
        assert row["source"]
    # Directive 2008/121/EC annex I, read: numbers 1, 4, 5, 7 and 14.
    assert {"wool", "silk", "cotton", "flax", "ramie"} <= set(names)
