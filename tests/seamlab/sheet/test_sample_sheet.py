"""The sample sheet: true size, tagged, its codes lead back; frozen and stored once."""

import hashlib
import io
import shutil
import subprocess
from typing import Any

import numpy as np
import pytest
from django.core.files.storage import default_storage
from django.urls import reverse
from pypdf import PdfReader

from seamlab.queries.sample_sheets import sheet_file, trial_code
from seamlab.reports.sample_sheet import code_of, sample_sheet_html
from seamlab.services import sample_sheets, seams
from studio.platform.errors import Refused
from studio.platform.jobs import run_job
from studio.platform.models import Job
from studio.reports.pdf import CannotRender
from tests.seamlab import sewing_room

DPI = 300


def drawn(house: Any, ask: Any, *args: Any, **values: Any) -> tuple[Any, bytes]:
    with house.scope():
        job = ask(house.instructor, *args, **values)
    assert run_job(house.studio_id, job.pk) == "done"
    with house.scope():
        file = sheet_file(house.instructor, job.pk)
        with default_storage.open(file.key, "rb") as stored:
            content = stored.read()
        result = Job.objects.get(pk=job.pk).result
    assert file.sha256 == result["sha256"] == hashlib.sha256(content).hexdigest()
    return job, content


@pytest.fixture
def tried(house: Any) -> Any:
    with house.scope():
        shelf = sewing_room.room(house.instructor)
        jersey = sewing_room.jersey(house.instructor, "Moss jersey <light>")
        version = shelf.zigzag("Jersey seam & hem")
        trial = shelf.trial(version, jersey)
        other = shelf.zigzag("Narrow zigzag", width="1.5")
    return jersey, trial, other


def test_a_cloths_sheet_is_tagged_true_to_size_and_its_codes_are_the_right_ones(
    house: Any, tried: Any, tmp_path: Any
) -> None:
    jersey, trial, other = tried
    job, content = drawn(house, sample_sheets.ask_cloth_sheet, jersey.pk, purpose="join")
    reader = PdfReader(io.BytesIO(content))
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"] == True  # noqa: E712 - a PDF object
    assert "pdfuaid" in reader.xmp_metadata.rdf_root.toxml()
    assert [round(float(side) / 72 * 25.4) for side in reader.pages[0].mediabox[2:]] == [210, 297]
    text = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    for words in ("Moss jersey <light>", "Jersey seam & hem, version 1", "passes", "sew a sample first",
                  "Try heat and steam", "100 × 50 mm", "medium ball"):  # fmt: skip
        assert words in text
    with house.scope():
        snapshot = Job.objects.get(pk=job.pk).arguments["snapshot"]
    addresses = [sample["address"] for sample in snapshot["samples"]]
    assert f"/s/{trial_code(trial.pk)}/" in addresses[0]
    assert f"/s/{other.pk.hex[-8:]}-{jersey.pk.hex[-8:]}/" in addresses[1]
    for address in addresses:
        typed = address.partition("://")[2]
        assert typed in text.replace(" ", ""), "the address can be typed where no camera is at hand"
    if shutil.which("pdftoppm") is None:
        pytest.skip("pdftoppm draws the pages to look at the codes")
    picture = _picture(content, tmp_path)
    _assert_box(picture)
    for address in addresses:
        assert _holds(picture, code_of(address)), f"the printed page holds the code of {address}"


def _picture(content: bytes, folder: Any) -> Any:
    (folder / "sheet.pdf").write_bytes(content)
    subprocess.run(
        ["pdftoppm", "-r", str(DPI), "-f", "1", "-l", "1", "-gray", folder / "sheet.pdf", folder / "page"],
        check=True,
    )
    raw = next(folder.glob("page*.pgm")).read_bytes()
    head, width, height, _ = raw.split(maxsplit=4)[:4]
    assert head == b"P5"
    return np.frombuffer(raw[-int(width) * int(height) :], dtype=np.uint8).reshape(int(height), int(width))


def _holds(picture: Any, code: Any) -> bool:
    """Is the code's matrix printed somewhere, module by module? Found by sampling the middle of every module."""
    matrix = np.array(code.matrix, dtype=bool)
    module = 22 / (len(matrix) + 8) / 25.4 * DPI  # the code with its quiet border is 22 mm wide
    dark = picture < 128
    centres = ((np.arange(len(matrix)) + 0.5) * module).round().astype(int)
    size = int(module * len(matrix)) + 2
    # The three finder patterns make their corners dark: candidates are where a dark run of seven modules begins.
    rows, columns = np.nonzero(dark[:-size, :-size] & ~np.roll(dark, 1, axis=1)[:-size, :-size])
    for row, column in zip(rows, columns, strict=True):
        run = dark[row + int(module / 2), column : column + int(7 * module)]
        if run.all() and (dark[np.ix_(row + centres, column + centres)] == matrix).mean() > 0.995:
            return True
    return False


def _assert_box(picture: Any) -> None:
    """The dashed box for the first sample is 100 mm wide: its left and right edges are dark columns so far apart."""
    dark = picture < 190
    counts = dark[int(70 / 25.4 * DPI) :, :].sum(axis=0)
    left = int(14 / 25.4 * DPI)
    right = left + 100 / 25.4 * DPI
    near = [
        int(np.argmax(counts[int(edge) - 12 : int(edge) + 12])) + int(edge) - 12 for edge in (left, right)
    ]
    assert (near[1] - near[0]) / DPI * 25.4 == pytest.approx(100, abs=0.6)


def test_the_code_leads_to_the_trial_or_to_where_it_is_written_down(
    house: Any, other_house: Any, tried: Any, page: Any
) -> None:
    jersey, trial, other = tried
    browser = page(house.clerk)
    assert browser.get(f"/s/{trial_code(trial.pk)}/").url == reverse("seamlab:trial", args=[trial.pk])
    owed = browser.get(f"/s/{other.pk.hex[-8:]}-{jersey.pk.hex[-8:]}/")
    assert owed.url == f"{reverse('seamlab:new-trial')}?version={other.pk}&cloth={jersey.pk}"
    assert page(other_house.instructor).get(f"/s/{trial_code(trial.pk)}/").status_code == 404


def test_a_sheet_needs_something_to_show_and_a_comparison_keeps_its_order(house: Any, tried: Any) -> None:
    jersey, trial, _ = tried
    with house.scope():
        bare = sewing_room.cloth(house.instructor)
        with pytest.raises(Refused, match="No sample was sewn"):
            sample_sheets.ask_cloth_sheet(house.instructor, bare.pk)
        with pytest.raises(Refused, match="No recipe here serves"):
            sample_sheets.ask_cloth_sheet(house.instructor, bare.pk, purpose="zip")
        job = sample_sheets.ask_cloth_sheet(house.instructor, jersey.pk)
        snapshot = job.arguments["snapshot"]
    assert [sample["title"] for sample in snapshot["samples"]] == ["Jersey seam & hem, version 1"]
    assert snapshot["samples"][0]["measured"]["before"] == "20.0 cm"
    html = sample_sheet_html(snapshot)
    assert "Moss jersey &lt;light&gt;" in html
    with pytest.raises(CannotRender, match="shape"):
        sample_sheet_html({**snapshot, "shape": 99})
    with house.scope():
        changed = seams.change_recipe(
            house.instructor, trial.version.recipe_id, settings=_wider(trial.version)
        )
    assert changed.number == 2
    assert "version 1" in sample_sheet_html(snapshot), "a sheet stays as it was frozen"


def _wider(version: Any) -> Any:
    from dataclasses import replace
    from decimal import Decimal

    return replace(seams.settings_of_version(version), stitch_width_mm=Decimal(4))


def test_sheets_in_the_api(house: Any, tried: Any, api: Any) -> None:
    jersey, *_ = tried
    caller = api(house.instructor)
    asked = caller.post(reverse("api-sample-sheets"), {"cloth": str(jersey.pk)}, format="json")
    assert asked.status_code == 201
    address = reverse("api-sample-sheet-file", args=[asked.json()["id"]])
    assert caller.get(address).status_code == 404
    assert run_job(house.studio_id, asked.json()["id"]) == "done"
    found = caller.get(asked["Location"]).json()
    assert (found["samples"], found["pages"], len(found["sha256"])) == (1, 1, 64)
    assert b"".join(caller.get(address).streaming_content).startswith(b"%PDF-")
    assert caller.post(reverse("api-sample-sheets"), {}, format="json").status_code == 400
    assert api(house.clerk).post(reverse("api-sample-sheets"), {}, format="json").status_code == 403
