"""What the shell holds, how it is named and how it travels."""

import gzip
import hashlib
import json
import re

import brotli
import pytest
from playwright.sync_api import expect

from benchapp import paths
from benchapp.web import headers, packs, shell
from benchapp.web.app import create_app


@pytest.fixture
def build(tmp_path, small_shell):
    def build_():
        return shell.build(create_app(data_dir=tmp_path / "data"))

    return build_


@pytest.fixture
def client(tmp_path, small_shell):
    return create_app(data_dir=tmp_path / "data").test_client()


@pytest.mark.parametrize(
    "change", ["edit", "add", "remove", "page", "desk", "worker", "precache", "headers"]
)
def test_any_change_changes_the_worker(build, small_shell, monkeypatch, change):
    before = build()
    static = small_shell.path / "static"
    if change == "edit":
        small_shell.edition("two")
    elif change == "add":
        (static / "new.css").write_text("p{}")
    elif change == "remove":
        (static / "late.js").unlink()
    elif change in ("page", "desk"):
        name = {"page": "shell.html", "desk": "desk.html"}[change]
        page = small_shell.path / "templates" / name
        page.write_text(page.read_text().replace("<body>", "<body><p>New</p>"))
    elif change in ("worker", "precache"):
        with (small_shell.path / "service_worker" / f"{change}.js").open("a") as code:
            code.write("// new\n")
    else:
        monkeypatch.setitem(headers.HEADERS, "X-New", "1")
    after = build()
    assert after.version != before.version
    assert after.worker["/sw.js"].body != before.worker["/sw.js"].body


def test_nothing_changed_means_the_same_bytes(build):
    assert build().worker == build().worker


PACKS = ("/bench.pack", "/desk.pack")


def pack_url(client, path):
    """Where the worker is told to find a pack."""
    code = client.get("/sw.js").get_data(as_text=True)
    told = json.loads(re.search(r"^const PACKS = (\{.*\});$", code, re.MULTILINE)[1])
    return f"{path}?{told[path.removeprefix('/').removesuffix('.pack')]}"


def index_of(pack):
    return json.loads(pack.partition(b"\n")[0])


def urls_of(pack):
    return {url for of in index_of(pack)["files"].values() for url in of}


@pytest.mark.parametrize("path", PACKS)
def test_a_pack_has_the_hash_that_the_worker_is_told_and_holds_what_is_served(client, path):
    url = pack_url(client, path)
    pack = client.get(url).get_data()
    assert hashlib.sha256(pack).hexdigest() == url.partition("?")[2]
    _, _, bodies = pack.partition(b"\n")
    assert index_of(pack)["headers"] == headers.HEADERS
    for content_type, files in index_of(pack)["files"].items():
        for url, length in files.items():
            served = client.get(url)
            assert (served.data, served.headers["Content-Type"]) == (bodies[:length], content_type)
            bodies = bodies[length:]
    assert bodies == b""


def test_each_file_is_in_one_of_the_packs(client, build):
    bench, desk = (urls_of(client.get(pack_url(client, path)).data) for path in PACKS)
    assert {"/", "/manifest.webmanifest", "/static/start.js", "/static/edition.js"} <= bench
    assert {"/desk.html", "/static/late.js"} <= desk
    assert not bench & desk
    # The browser asks for pictures when it likes, also with no signal.
    assert "/static/icons/apple-touch-icon.png" in desk
    assert bench | desk == set(build().assets)


@pytest.mark.parametrize("path", PACKS)
def test_a_pack_of_another_version_is_not_there(client, path):
    """As when the worker's script came from a server that is being replaced."""
    assert client.get(f"{path}?{'0' * 64}").status_code == 404
    assert client.get(path).status_code == 404


def test_every_static_file_is_in_the_shell(small_shell, tmp_path):
    served = shell.build(create_app(data_dir=tmp_path / "data")).assets
    on_disk = {
        "/static/" + path.relative_to(paths.STATIC).as_posix()
        for path in paths.STATIC.rglob("*")
        if path.is_file()
    }
    assert on_disk - {shell.PSEUDO} == set(served) - {"/", "/desk.html", "/manifest.webmanifest"}


def test_the_worker_goes_its_own_way(client):
    response = client.get("/sw.js")
    assert response.headers["Cache-Control"] == "no-cache"
    assert response.headers["Service-Worker-Allowed"] == "/"
    assert response.mimetype == "text/javascript"
    assert "/sw.js" not in response.get_data(as_text=True).splitlines()[1]


@pytest.mark.parametrize(
    "url", ["/", "/sw.js", "/precache.js", *PACKS, "/static/start.js", "/static/icons/icon-192.png"]
)
@pytest.mark.parametrize(
    ("asked", "unpack"),
    [("gzip", gzip.decompress), ("gzip, deflate, br, zstd", brotli.decompress)],
    ids=["gzip", "br"],
)
def test_text_travels_packed_and_is_asked_about_each_time(client, url, asked, unpack):
    url = pack_url(client, url) if url in PACKS else url
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


@pytest.fixture
def real(tmp_path):
    return shell.build(create_app(data_dir=tmp_path / "data"))


def test_the_real_packs_fit_their_budgets(real):
    """Over the wire (budgets of our own), by Brotli, which every browser takes that can work
    offline; not much more for what stands between."""
    bench, desk = (real.packs[path] for path in PACKS)
    for packed, bench_most, desk_most in (
        ("brotli", 90_000, 250_000),
        ("gzipped", 105_000, 290_000),
    ):
        first = [bench, *real.worker.values()]
        assert sum(len(getattr(each, packed)) for each in first) <= bench_most
        assert len(getattr(desk, packed)) <= desk_most
    icons = [len(a.brotli or a.body) for url, a in real.assets.items() if "/icons/" in url]
    assert 0 < sum(icons) < 14_000


def test_the_bench_needs_nothing_of_the_desk(real):
    """What a bench module imports is of the bench by the very rule, so a screen of the desk that is
    imported there would come with it, and all that it needs."""
    bench, desk = (urls_of(real.packs[path].body) for path in PACKS)
    addresses = (paths.STATIC / "addresses.js").read_text(encoding="utf-8")
    screens = set(re.findall(r'import\("\.(/screens/\w+\.js)"\)', addresses))
    of_bench = set(packs.bench_screens(addresses).values())
    assert len(of_bench) == 5
    assert of_bench <= bench
    assert {f"/static{url}" for url in screens} - of_bench <= desk
    # A module that is imported only when it is called for is a screen's, the demo's, or what few
    # have switched on: it listens to her or to the server, reaches an instrument, or notes a bell.
    called_for = {"/static/start.js", "/static/app.js", "/static/addresses.js"}
    called_for |= {"/static/bench/hands_free.js", "/static/bench/live_reading.js"}
    called_for |= {"/static/screens/strip.js", "/static/records/exchange.js"}
    templates = set(re.findall(r'<template id="([\w-]+)"', real.assets["/"].body.decode()))
    for url in bench:
        if url.endswith(".js"):
            text = (paths.STATIC / url.removeprefix("/static/")).read_text(encoding="utf-8")
            code = re.sub(r"/\*\*.*?\*/", "", text, flags=re.DOTALL)
            assert url in called_for or not re.search(r"\bimport\(", code), url
            assert set(re.findall(r'cloneTemplate\("([\w-]+)"\)', code)) <= templates, url
    assert "/static/bench/onset.js" in desk


def test_a_start_asks_at_once_for_all_that_it_will_import(real, server, phone, open_ready):
    """Or what is missing from its lists would wait for what imports it; what is too much would be
    fetched for nothing."""
    listed = packs.first_modules(paths.STATIC)
    assert "/static/bench/session.js" in listed[""]
    assert "/static/bench/chart.js" in listed["pour"]
    for modules in listed.values():
        assert set(modules) <= urls_of(real.packs["/bench.pack"].body)
    url = server().url
    open_ready(phone, url)
    for name in ("today", "recipes"):
        phone.goto("about:blank")
        phone.goto(f"{url}#/{name}")
        expect(phone.locator("#screen h1")).to_be_visible()
        loaded = phone.evaluate("""() => performance.getEntriesByType('resource')
          .map(({ name }) => new URL(name).pathname).filter((path) => path.endsWith('.js'))""")
        # What comes with the desk comes after the start.
        of_bench = urls_of(real.packs["/bench.pack"].body)
        assert set(loaded) & of_bench == {*listed[""], *listed[name]}


def test_a_style_sheet_is_linked_once(real):
    linked = [
        sheet
        for page in ("/", "/desk.html")
        for sheet in packs.style_sheets(real.assets[page].body)
    ]
    on_disk = [f"/static/look/{path.name}" for path in (paths.STATIC / "look").glob("*.css")]
    assert sorted(linked) == sorted(on_disk)


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
