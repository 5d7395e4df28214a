"""What the shell holds, how it is named and how it travels."""

import gzip
import hashlib
import json
import re

import brotli
import pytest

from benchapp import paths
from benchapp.web import headers, shell
from benchapp.web.app import create_app


@pytest.fixture
def build(tmp_path, small_shell):
    def build_():
        return shell.build(create_app(data_dir=tmp_path / "data"))

    return build_


@pytest.fixture
def client(tmp_path, small_shell):
    return create_app(data_dir=tmp_path / "data").test_client()


@pytest.mark.parametrize("change", ["edit", "add", "remove", "page", "worker", "headers"])
def test_any_change_changes_the_worker(build, small_shell, monkeypatch, change):
    before = build()
    static = small_shell.path / "static"
    if change == "edit":
        small_shell.edition("two")
    elif change == "add":
        (static / "new.css").write_text("p{}")
    elif change == "remove":
        (static / "late.js").unlink()
    elif change == "page":
        page = small_shell.path / "templates" / "shell.html"
        page.write_text(page.read_text().replace("<body>", "<body><p>New</p>"))
    elif change == "worker":
        with (small_shell.path / "service_worker" / "worker.js").open("a") as code:
            code.write("// new\n")
    else:
        monkeypatch.setitem(headers.HEADERS, "X-New", "1")
    after = build()
    assert after.version != before.version
    assert after.worker.body != before.worker.body


def test_nothing_changed_means_the_same_bytes(build):
    assert build().worker.body == build().worker.body


def pack_url(client):
    code = client.get("/sw.js").get_data(as_text=True)
    return "/shell.pack?" + re.search(r'^const PACK = "([0-9a-f]{64})";$', code, re.MULTILINE)[1]


def test_the_pack_has_the_hash_that_the_worker_is_told_and_holds_what_is_served(client):
    url = pack_url(client)
    pack = client.get(url).get_data()
    assert hashlib.sha256(pack).hexdigest() == url.partition("?")[2]
    line, _, bodies = pack.partition(b"\n")
    index = json.loads(line)
    assert index["headers"] == headers.HEADERS
    urls = [url for url, _, _ in index["files"]]
    assert {"/", "/manifest.webmanifest", "/static/page.js"} <= set(urls)
    assert not shell.FETCHED_AT_INSTALL & set(urls)
    for url, content_type, length in index["files"]:
        served = client.get(url)
        assert (served.data, served.headers["Content-Type"]) == (bodies[:length], content_type)
        bodies = bodies[length:]
    assert bodies == b""


def test_a_pack_of_another_version_is_not_there(client):
    """As when the worker's script came from a server that is being replaced."""
    assert client.get("/shell.pack?" + "0" * 64).status_code == 404
    assert client.get("/shell.pack").status_code == 404


def test_every_static_file_is_in_the_shell(small_shell, tmp_path):
    served = shell.build(create_app(data_dir=tmp_path / "data")).assets
    on_disk = {
        "/static/" + path.relative_to(paths.STATIC).as_posix()
        for path in paths.STATIC.rglob("*")
        if path.is_file()
    }
    assert on_disk - {shell.PSEUDO} == set(served) - {"/", "/manifest.webmanifest"}


def test_the_worker_goes_its_own_way(client):
    response = client.get("/sw.js")
    assert response.headers["Cache-Control"] == "no-cache"
    assert response.headers["Service-Worker-Allowed"] == "/"
    assert response.mimetype == "text/javascript"
    assert "/sw.js" not in response.get_data(as_text=True).splitlines()[1]


@pytest.mark.parametrize(
    "url", ["/", "/sw.js", "/shell.pack", "/static/page.js", "/static/icons/icon-192.png"]
)
@pytest.mark.parametrize(
    ("asked", "unpack"),
    [("gzip", gzip.decompress), ("gzip, deflate, br, zstd", brotli.decompress)],
    ids=["gzip", "br"],
)
def test_text_travels_packed_and_is_asked_about_each_time(client, url, asked, unpack):
    url = pack_url(client) if url == "/shell.pack" else url
    plain = client.get(url, headers={"Accept-Encoding": "identity"})
    packed = client.get(url, headers={"Accept-Encoding": asked})
    assert "Content-Encoding" not in plain.headers
    if "Content-Encoding" in packed.headers:
        assert unpack(packed.data) == plain.data
        assert len(packed.data) < len(plain.data)
    else:
        assert url.endswith(".png")
    assert packed.headers["Cache-Control"] == "no-cache"
    assert "Accept-Encoding" in packed.headers["Vary"]
    again = client.get(url, headers={"If-None-Match": packed.headers["ETag"]})
    assert again.status_code == 304
    assert again.data == b""


def test_a_running_server_serves_what_it_announced(client, small_shell):
    before = client.get("/static/late.js").data
    small_shell.edition("two")
    assert client.get("/static/late.js").data == before


def test_debugging_reads_the_files_anew(tmp_path, small_shell, monkeypatch):
    monkeypatch.setenv("BENCHAPP_DEBUG", "1")
    client = create_app(data_dir=tmp_path / "data").test_client()
    client.get("/static/late.js")
    small_shell.edition("two")
    assert b"two" in client.get("/static/late.js").data


def test_the_real_shell_fits_its_budget(tmp_path):
    """All that is stored on a phone, packed: under 100 KB (a budget of our own) by Brotli, which
    every browser takes that can work offline; not much more for what stands between."""
    real = shell.build(create_app(data_dir=tmp_path / "data"))
    for packed, budget in (("brotli", 100_000), ("gzipped", 115_000)):
        assert sum(len(getattr(each, packed)) for each in (real.pack, real.worker)) < budget
    icons = [len(a.brotli or a.body) for url, a in real.assets.items() if "/icons/" in url]
    assert 0 < sum(icons) < 14_000


def test_modules_are_served_without_comments_and_whole_while_debugging(tmp_path, monkeypatch):
    """The comments are a third of what the phone would fetch, and it reads none of them."""
    url = "/static/formulas/cooling/forecast.js"
    written = (paths.STATIC / "formulas" / "cooling" / "forecast.js").read_bytes()
    served = shell.build(create_app(data_dir=tmp_path / "data")).assets[url].body
    assert b"/**" not in served
    assert b"export function forecast(" in served
    assert len(served) < 0.8 * len(written)
    monkeypatch.setenv("BENCHAPP_DEBUG", "1")
    whole = shell.build(create_app(data_dir=tmp_path / "data")).assets[url].body
    assert whole == written
