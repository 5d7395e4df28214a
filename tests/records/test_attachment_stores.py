"""Where the bytes of attachments lie, and what a file is by its bytes."""

import hashlib
import io
import os
import socket
from pathlib import Path

import pytest
from PIL import Image

from benchapp.records.attachments.arriving import Arriving
from benchapp.records.attachments.file_type import MOST_PIXELS, WrongFile, first_look, type_of
from benchapp.records.attachments.stores import Bucket, Directory, Missing, Store, open_store
from benchapp.records.database import Unavailable
from benchapp.words import InputError
from tests.s3 import environment

SHOP, OTHER = "0123456789abcdef", "fedcba9876543210"


def picture(form: str = "JPEG", size: tuple[int, int] = (64, 48)) -> bytes:
    out = io.BytesIO()
    Image.effect_noise(size, 60).convert("RGB").save(out, form)
    return out.getvalue()


def name_of(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


# ---- stores ------------------------------------------------------------------------------------


@pytest.fixture(params=["directory", "bucket"])
def store(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Store:
    if request.param == "directory":
        return open_store(None, tmp_path)
    for name, value in request.getfixturevalue("s3").items():
        monkeypatch.setenv(name, value)
    return open_store(f"s3://bench/{tmp_path.name}", tmp_path)


def put(store: Store, shop: str, content: bytes) -> str:
    file = store.arriving / "whole"
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(content)
    store.put(shop, name_of(content), file)
    assert not file.exists()
    return name_of(content)


def test_what_is_put_is_read_back_listed_and_dropped(store: Store) -> None:
    content = os.urandom(3_000_000)
    name = put(store, SHOP, content)
    put(store, OTHER, b"%PDF-1.7 other")
    # A second time changes nothing.
    assert put(store, SHOP, content) == name
    assert store.read(SHOP, name) == content
    assert store.read(SHOP, name, 2_999_990, 3_000_000) == content[-10:]
    assert [(each.workshop_id, each.sha256, each.size) for each in store.lying(SHOP)] == [
        (SHOP, name, len(content))
    ]
    assert {each.workshop_id for each in store.lying()} == {SHOP, OTHER}
    with pytest.raises(Missing):
        store.read(OTHER, name)
    store.drop(SHOP, name)
    store.drop(SHOP, name)
    with pytest.raises(Missing):
        store.read(SHOP, name)
    assert [each.workshop_id for each in store.lying()] == [OTHER]


def test_a_directory_is_for_its_owner_alone_and_may_be_on_another_disk(tmp_path: Path) -> None:
    store = Directory(tmp_path / "kept")
    elsewhere = Path("/dev/shm")  # noqa: S108
    if not elsewhere.is_dir() or elsewhere.stat().st_dev == tmp_path.stat().st_dev:
        elsewhere = tmp_path
    file = elsewhere / f"bench-{os.getpid()}"
    file.write_bytes(b"%PDF-1.7")
    store.put(SHOP, name_of(b"%PDF-1.7"), file)
    assert not file.exists()
    (kept,) = store.lying()
    assert kept.size == 8
    for path in (tmp_path / "kept").rglob("*"):
        if path.is_dir():
            assert path.stat().st_mode & 0o077 == 0


def test_a_bucket_that_does_not_answer_is_told_without_its_keys(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with socket.socket() as nobody:
        nobody.bind(("127.0.0.1", 0))
        address = f"http://127.0.0.1:{nobody.getsockname()[1]}"
        for name, value in environment(address).items():
            monkeypatch.setenv(name, value)
        store = open_store("s3://bench", tmp_path)
        assert isinstance(store, Bucket)
        with pytest.raises(Unavailable, match="does not answer") as told:
            store.read(SHOP, name_of(b""))
    assert "benchsecret" not in str(told.value)


@pytest.mark.parametrize("url", ["ftp://x/y", "s3://", "file://elsewhere/x", "bucket", ""])
def test_an_address_that_can_not_be_used_is_told(url: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="can't be used"):
        open_store(url, tmp_path)


# ---- pieces ------------------------------------------------------------------------------------


def test_pieces_are_added_at_the_end_alone(tmp_path: Path) -> None:
    arriving = Arriving(tmp_path / "arriving")
    content = b"%PDF-" + os.urandom(995)
    name = name_of(content)
    assert arriving.far(SHOP, name) == 0
    assert arriving.add(SHOP, name, 10, b"x") == 0
    assert arriving.add(SHOP, name, 0, content[:400]) == 400
    # Repeated, late, or out of order: nothing changes, and the answer says where to go on.
    assert arriving.add(SHOP, name, 0, content[:400]) == 400
    assert arriving.add(SHOP, name, 700, content[700:]) == 400
    assert arriving.add(SHOP, name, 400, content[400:]) == 1000
    assert arriving.hash_of(SHOP, name) == name
    # Another workshop's is another file.
    assert arriving.far(OTHER, name) == 0
    assert arriving.tidy() == 0
    old = arriving.path(SHOP, name)
    os.utime(old, (1, 1))
    assert arriving.tidy() == 1
    assert arriving.far(SHOP, name) == 0


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="Only Linux has a disk that is full.")
def test_a_full_disk_is_told_and_half_a_piece_is_no_place_to_go_on_from(tmp_path: Path) -> None:
    arriving = Arriving(tmp_path)
    arriving.path(SHOP, name_of(b"")).symlink_to("/dev/full")
    with pytest.raises(Unavailable, match="no room left on its disk"):
        arriving.add(SHOP, name_of(b""), 0, b"%PDF-1.7")
    assert arriving.far(SHOP, name_of(b"")) == 0


# ---- what a file is ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "type_"),
    [
        (picture("JPEG"), "image/jpeg"),
        (picture("PNG"), "image/png"),
        (picture("WEBP"), "image/webp"),
        (b"%PDF-1.7\n", "application/pdf"),
    ],
)
def test_a_file_is_what_its_bytes_are(content: bytes, type_: str, tmp_path: Path) -> None:
    file = tmp_path / "script.html"
    file.write_bytes(content)
    assert type_of(file) == type_


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"<script>alert(1)</script>",
        b"\x89PNG\r\n",
        b"RIFF\x00\x00\x00\x00WAVE",
        b"GIF89a",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b" %PDF-1.7",
    ],
)
def test_what_is_no_photo_and_no_pdf_is_refused_whatever_its_name(
    content: bytes, tmp_path: Path
) -> None:
    assert first_look(content[:12]) is None
    file = tmp_path / "photo.jpg"
    file.write_bytes(content)
    with pytest.raises(WrongFile, match=r"no photo and no PDF"):
        type_of(file)


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_picture_that_is_cut_is_refused(form: str, tmp_path: Path) -> None:
    whole = picture(form, (400, 300))
    file = tmp_path / "photo"
    file.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(WrongFile, match="damaged"):
        type_of(file)


def test_a_picture_that_would_unpack_to_far_too_much_is_never_unpacked(tmp_path: Path) -> None:
    file = tmp_path / "photo"
    Image.new("L", (MOST_PIXELS // 1000 + 1, 1000)).save(file, "PNG")
    with pytest.raises(WrongFile, match="too many pixels"):
        type_of(file)
