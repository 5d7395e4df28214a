"""Photos and papers over the wire: pieces, what is refused, and that nothing of them can run."""

import hashlib
import io
import os
from concurrent.futures import ThreadPoolExecutor

import pytest
from PIL import Image

from benchapp.web.limits import PIECE
from tests.web.caller import Caller, bench


def photo(seed: int = 0, size: tuple[int, int] = (320, 240)) -> bytes:
    out = io.BytesIO()
    noise = Image.effect_noise(size, 30 + seed).convert("RGB")
    noise.save(out, "JPEG", quality=80)
    return out.getvalue()


def paper(size: int) -> bytes:
    return b"%PDF-1.7\n" + os.urandom(size - 9)


def name_of(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def send(
    caller: Caller, content: bytes, *, at: int = 0, most: int = PIECE, name: str = "", of: int = 0
):
    """Send a file in pieces from ``at`` on; the last answer."""
    name = name or name_of(content)
    while True:
        answered = caller.call(
            "POST",
            f"/api/attachments/{name}?at={at}&of={of or len(content)}",
            raw=content[at : at + most],
            headers={"Content-Type": "application/octet-stream"},
        )
        if answered.status != 200 or answered.json["kept"]:
            return answered
        at = answered.json["have"]


def test_a_paper_arrives_in_pieces_is_gone_on_with_and_comes_back(running, here):
    content = paper(700_000)
    name = name_of(content)
    have = here.post("/api/attachments/have", {"hashes": [name]}).json
    assert (have["kept"], have["begun"]) == ([], {})
    assert have["piece_bytes"] == PIECE
    first = here.call("POST", f"/api/attachments/{name}?at=0&of=700000", raw=content[:PIECE])
    assert first.json == {"kept": False, "have": PIECE}
    # Not a byte of it can be had before it is whole.
    assert here.get(f"/api/attachments/{name}").status == 404
    # It broke off there: another caller of the workshop asks how far it is, and goes on.
    other = running.paired("other")
    have = other.post("/api/attachments/have", {"hashes": [name, "0" * 64]}).json
    assert (have["kept"], have["begun"]) == ([], {name: PIECE})
    # A piece that comes again, and one from further on, change nothing.
    for at in (0, 2 * PIECE):
        again = other.call(
            "POST", f"/api/attachments/{name}?at={at}&of=700000", raw=content[at : at + PIECE]
        )
        assert again.json == {"kept": False, "have": PIECE}
    assert send(other, content, at=PIECE).json == {"kept": True, "have": 700_000}
    assert here.post("/api/attachments/have", {"hashes": [name]}).json["kept"] == [name]
    # Never twice: the first piece of it already says so.
    assert send(here, content).json == {"kept": True, "have": 700_000}
    assert here.get(f"/api/attachments/{name}").body == content
    part = here.get(f"/api/attachments/{name}", headers={"Range": "bytes=699990-"})
    assert (part.status, part.body) == (206, content[-10:])
    assert part.headers["Content-Range"] == "bytes 699990-699999/700000"
    assert here.get(f"/api/attachments/{name}", headers={"Range": "bytes=700000-"}).status == 416


@pytest.mark.parametrize("content", [photo(1), paper(1000)], ids=["photo", "paper"])
def test_what_comes_back_can_not_run(here, content):
    assert send(here, content).json["kept"]
    answered = here.get(f"/api/attachments/{name_of(content)}")
    assert answered.body == content
    is_photo = content.startswith(b"\xff\xd8")
    assert answered.headers["Content-Type"] == ("image/jpeg" if is_photo else "application/pdf")
    assert answered.headers["X-Content-Type-Options"] == "nosniff"
    assert answered.headers["Content-Security-Policy"] == "sandbox; default-src 'none'"
    assert answered.headers["Content-Disposition"].startswith("attachment; filename=")
    assert answered.headers["Cache-Control"].startswith("private")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"<script>alert(document.cookie)</script>", "no photo and no PDF"),
        (b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>", "no photo and no PDF"),
        (photo(2)[:3000], "damaged"),
    ],
    ids=["script", "drawing", "half a photo"],
)
def test_a_file_that_is_none_is_refused_in_a_sentence_and_nothing_is_kept(here, content, said):
    answered = send(here, content)
    assert answered.status == 415
    assert said in answered.json["error"]
    assert answered.json["never"] is True
    assert here.get(f"/api/attachments/{name_of(content)}").status == 404
    have = here.post("/api/attachments/have", {"hashes": [name_of(content)]}).json
    assert (have["kept"], have["begun"]) == ([], {})


def test_a_paper_of_half_a_gigabyte_is_refused_with_its_first_piece(here):
    answered = send(here, paper(PIECE), of=500_000_000, name="5" * 64)
    assert answered.status == 413
    assert "may have 20 MB" in answered.json["error"]
    assert answered.json["never"] is True


def test_what_arrives_otherwise_than_it_was_is_sent_again(here):
    content = paper(3000)
    spoilt = content[:-1] + b"?"
    answered = send(here, spoilt, name=name_of(content))
    assert answered.status == 409
    assert answered.json["again"] is True
    assert send(here, content).json["kept"]


def test_what_had_arrived_when_the_server_died_is_taken_without_another_byte(running, here):
    content = paper(2000)
    name = name_of(content)
    first = here.call("POST", f"/api/attachments/{name}?at=0&of=2000", raw=content[:1999])
    assert first.json == {"kept": False, "have": 1999}
    [arriving] = (running.data / "attachments" / "arriving").glob(f"*-{name}")
    with arriving.open("ab") as file:
        file.write(content[1999:])
    assert here.post("/api/attachments/have", {"hashes": [name]}).json["begun"] == {name: 2000}
    assert send(here, content, at=2000).json == {"kept": True, "have": 2000}
    assert here.get(f"/api/attachments/{name}").body == content


@pytest.mark.parametrize("query", ["", "at=0", "of=5", "at=-1&of=5", "at=x&of=5", "at=0&of=0"])
def test_a_piece_that_does_not_say_which_it_is_is_refused(here, query):
    answered = here.call("POST", f"/api/attachments/{'1' * 64}?{query}", raw=b"%PDF-")
    assert answered.status == 400
    assert "which piece" in answered.json["error"]


@pytest.mark.parametrize("name", ["a", "../../etc/passwd", "A" * 64, "0" * 63 + "g"])
def test_a_name_that_is_no_hash_is_nowhere(here, name):
    assert here.call("POST", f"/api/attachments/{name}?at=0&of=5", raw=b"%PDF-").status in (
        400,
        404,
    )
    assert here.get(f"/api/attachments/{name}").status == 404
    assert here.post("/api/attachments/have", {"hashes": [name]}).status == 400


def test_who_is_not_paired_gets_and_leaves_nothing(running, here):
    content = paper(500)
    send(here, content)
    stranger = running.caller()
    assert stranger.get(f"/api/attachments/{name_of(content)}").status == 401
    assert stranger.get("/api/attachments").status == 401
    assert stranger.post("/api/attachments/have", {"hashes": []}).status == 401
    assert send(stranger, content).status == 401
    here_without = Caller(here.url, here.cookies)
    assert send(here_without, content).status == 400


def test_one_workshop_does_not_learn_what_another_has(running, here):
    content = photo(3)
    send(here, content)
    name = name_of(content)
    stranger = running.paired("stranger", running.workshop("Another"))
    assert stranger.get(f"/api/attachments/{name}").status == 404
    have = stranger.post("/api/attachments/have", {"hashes": [name]}).json
    assert (have["kept"], have["begun"]) == ([], {})
    first = stranger.call(
        "POST", f"/api/attachments/{name}?at=0&of={len(content)}", raw=content[:9]
    )
    assert first.json == {"kept": False, "have": 9}
    assert stranger.get("/api/attachments").json["count"] == 0
    # It has sent all of it before it has it.
    assert send(stranger, content, at=9).json["kept"]
    assert stranger.get("/api/attachments").json["count"] == 1


def test_the_same_photo_from_many_at_once_is_kept_once(running):
    callers = [running.paired(f"phone {number}") for number in range(4)]
    content = photo(4, (1200, 900))
    before = callers[0].get("/api/attachments").json["count"]
    with ThreadPoolExecutor(len(callers)) as pool:
        answers = list(pool.map(lambda each: send(each, content, most=40_000), callers))
    assert all(answered.json["kept"] for answered in answers)
    assert callers[0].get("/api/attachments").json["count"] == before + 1
    assert callers[1].get(f"/api/attachments/{name_of(content)}").body == content
    # Nor is any of it begun anew.
    assert not list((running.data / "attachments" / "arriving").glob(f"*-{name_of(content)}"))


def test_a_workshop_that_is_full_says_so(tmp_path):
    with bench(tmp_path, "--attachments-room", "1", "--attachment-size", "1") as running:
        caller = running.paired()
        assert caller.get("/api/attachments").json["room_bytes"] == 1_000_000
        assert send(caller, paper(900_000)).json["kept"]
        answered = send(caller, paper(200_000))
        assert answered.status == 413
        assert "take all the room" in answered.json["error"]
        # When there is more room it may come.
        assert answered.json["never"] is False
        answered = send(caller, paper(1_100_000))
        assert "may have 1 MB" in answered.json["error"]


def test_a_server_keeps_them_in_a_bucket(tmp_path, s3):
    with bench(tmp_path, "--attachments", "s3://bench/wire", **s3) as running:
        caller = running.paired()
        content = paper(600_000)
        assert send(caller, content).json["kept"]
        assert caller.get(f"/api/attachments/{name_of(content)}").body == content
    assert not list((tmp_path / "attachments").rglob(name_of(content)))
