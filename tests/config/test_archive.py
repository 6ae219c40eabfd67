"""Backup and restore: the contents come back identical, damage is noticed, nobody erased comes back."""

import tarfile

import pytest
from django.core.files.storage import default_storage

from studio.config.archive import BadArchive, restore_archive, write_archive
from studio.platform.models import Member, StoredFile, Studio
from studio.platform.services.files import read_file, store_file
from studio.platform.services.people import change_member
from studio.services.clients import record_client
from studio.services.leaving import erase_client
from tests.conftest import found_house, real_transactions

pytestmark = real_transactions


@pytest.fixture
def house(transactional_db):
    return found_house("Thimble Row")


def test_what_was_backed_up_comes_back(house, tmp_path):
    with house.scope():
        client = record_client(house.instructor, name="Leocadia Marchetti", consent_by="Leocadia Marchetti")
        kept = store_file(
            b"%PDF a page", name="report.pdf", media_type="application/pdf", client_id=client.pk
        )
    archive = tmp_path / "studio.tar"
    done = write_archive(archive)
    assert (done.files, archive.stat().st_mode & 0o077) == (1, 0)
    with house.scope():
        change_member(house.owner, house.clerk.member_id, role="instructor", active=False)
    restore_archive(archive, over=True)
    with house.scope():
        assert Member.objects.get(pk=house.clerk.member_id).role == "clerk"
        assert read_file(StoredFile.objects.get(pk=kept.pk)) == b"%PDF a page"
    from studio.platform.checks import role_problems

    assert role_problems() == [], "the policies are forced again"


def test_what_was_taken_away_on_purpose_is_no_hindrance(house, tmp_path):
    with house.scope():
        away, kept = (
            store_file(content, name="a.jpg", media_type="image/jpeg") for content in (b"away", b"kept")
        )
    default_storage.delete(away.key)
    archive = tmp_path / "studio.tar"
    assert write_archive(archive).files == 1
    default_storage.delete(kept.key)
    restore_archive(archive, over=True)
    with house.scope():
        assert read_file(StoredFile.objects.get(pk=kept.pk)) == b"kept"
        assert StoredFile.objects.filter(pk=away.pk).exists()
    assert not default_storage.exists(away.key)


def test_a_studio_in_use_is_not_written_over_by_accident(house, tmp_path):
    archive = tmp_path / "studio.tar"
    write_archive(archive)
    with pytest.raises(BadArchive, match="holds a studio"):
        restore_archive(archive, over=False)
    with house.scope():
        assert Studio.objects.count() == 1


def test_a_damaged_archive_changes_nothing(house, tmp_path):
    archive = tmp_path / "studio.tar"
    write_archive(archive)
    with tarfile.open(archive) as tar:
        offset = tar.getmember("tables/platform_member").offset_data
    content = bytearray(archive.read_bytes())
    content[offset] ^= 1
    archive.write_bytes(content)
    with pytest.raises(BadArchive, match="SHA-256 differs"):
        restore_archive(archive, over=True)
    with house.scope():
        assert Member.objects.count() == 3


def test_nobody_erased_comes_back(house, tmp_path):
    with house.scope():
        client = record_client(house.instructor, name="Leocadia Marchetti", consent_by="Leocadia Marchetti")
    archive = tmp_path / "studio.tar"
    write_archive(archive)
    with house.scope():
        erase_client(house.owner, client.pk, reason="asked by letter")
    assert restore_archive(archive, over=True).erased_again == 1
    with house.scope():
        from studio.models import Client

        assert Client.objects.get(pk=client.pk).name != "Leocadia Marchetti"


def test_a_restore_that_dies_leaves_everything_as_it_was(house, tmp_path, monkeypatch):
    """Erasures are repeated in the restore's own transaction: there is no moment at which she is back."""
    from studio.config import archive as archive_room
    from studio.models import Client

    with house.scope():
        client = record_client(house.instructor, name="Leocadia Marchetti", consent_by="Leocadia Marchetti")
    target = tmp_path / "studio.tar"
    write_archive(target)
    with house.scope():
        erase_client(house.owner, client.pk, reason="asked by letter")

    def killed(*_):
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(archive_room, "_erase_again", killed)
        with pytest.raises(KeyboardInterrupt):
            restore_archive(target, over=True)
    with house.scope():
        assert Client.objects.get(pk=client.pk).name == "Erased"
    restore_archive(target, over=True)
    with house.scope():
        from studio.platform.models import Erasure

        assert Client.objects.get(pk=client.pk).name == "Erased"
        erasure = Erasure.objects.get()
        assert (erasure.reason, erasure.member_id) == ("asked by letter", house.owner.member_id)


def test_a_damaged_file_is_replaced_and_a_stray_one_goes(house, tmp_path):
    from django.core.files.storage import default_storage

    with house.scope():
        kept = store_file(b"%PDF a page", name="report.pdf", media_type="application/pdf")
    target = tmp_path / "studio.tar"
    write_archive(target)
    with open(default_storage.path(kept.key), "wb") as damaged:
        damaged.write(b"junk")
    with house.scope():
        later = store_file(b"after the backup", name="late.pdf", media_type="application/pdf")
    restore_archive(target, over=True)
    with house.scope():
        assert read_file(StoredFile.objects.get(pk=kept.pk)) == b"%PDF a page"
    assert not default_storage.exists(later.key)


def test_what_is_no_archive_is_refused_in_a_sentence(house, tmp_path):
    target = tmp_path / "letter.txt"
    target.write_text("Dear studio")
    with pytest.raises(BadArchive, match="no archive of ours"):
        restore_archive(target, over=True)


def test_an_encrypted_archive_opens_with_its_key_alone(house, tmp_path):
    from studio.config.archive import verify_archive
    from studio.config.archive_key import BadKey, make_key

    key, public, other, archive = (tmp_path / name for name in ("key", "public", "other", "studio.tar"))
    public.write_text(make_key(key))
    make_key(other)
    assert key.stat().st_mode & 0o077 == 0
    write_archive(archive, public)
    assert b"Thimble Row" not in archive.read_bytes()
    with pytest.raises(BadArchive, match="is encrypted"):
        restore_archive(archive, over=True)
    for wrong in (other, public):
        with pytest.raises(BadKey):
            restore_archive(archive, over=True, key=wrong)
    assert verify_archive(archive, key).tables > 0
    restore_archive(archive, over=True, key=key)
    content = archive.read_bytes()
    for damaged in (content[:-100], content[:5000] + bytes([content[5000] ^ 1]) + content[5001:]):
        archive.write_bytes(damaged)
        with pytest.raises(BadKey, match="damaged"):
            restore_archive(archive, over=True, key=key)
    with house.scope():
        assert Studio.objects.get().name == "Thimble Row"


def test_a_key_is_never_written_over(tmp_path):
    from studio.config.archive_key import BadKey, make_key

    make_key(tmp_path / "key")
    with pytest.raises(BadKey, match="exists already"):
        make_key(tmp_path / "key")


def test_what_a_killed_backup_left_in_the_open_goes_and_one_at_work_keeps_its_own(tmp_path):
    from django.conf import settings

    from studio.config.archive import _plain_folder, tidy_plain_folders

    left = settings.DATA_DIR / "archive-left"
    left.mkdir()
    (left / "plain.tar").write_bytes(b"names")
    with _plain_folder() as mine:
        assert tidy_plain_folders() == 1
        assert mine.exists()
        assert not left.exists()
    assert not mine.exists()
