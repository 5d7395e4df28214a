"""Which language a server speaks: English, or the pseudo-language that finds unworded text."""

import json
import re
from datetime import UTC, datetime

import pytest
from playwright.sync_api import expect

from benchapp import words
from benchapp.web import certificates, local_network, trust
from benchapp.web.app import create_app
from benchapp.words.pseudo import PSEUDO
from benchapp.words.setting import VARIABLE


@pytest.fixture(autouse=True)
def english():
    yield
    words.speak_in(words.ENGLISH)


def shell(tmp_path):
    """The page, the manifest, and the status of the pseudo-language's file."""
    client = create_app(data_dir=tmp_path / "data").test_client()
    page = client.get("/").get_data(as_text=True)
    manifest = json.loads(client.get("/manifest.webmanifest").get_data())
    return page, manifest, client.get("/static/words/pseudo.js").status_code


@pytest.mark.parametrize("wanted", ["", "en-GB"])
def test_english_is_spoken_where_nothing_else_is_asked_for(tmp_path, monkeypatch, wanted):
    monkeypatch.setenv(VARIABLE, wanted)
    page, manifest, pseudo = shell(tmp_path)
    assert '<html lang="en-GB" ' in page
    assert manifest["lang"] == "en-GB"
    assert manifest["description"].startswith("Weigh, cool and pour")
    assert pseudo == 404


def test_the_pseudo_language_has_its_file_in_the_shell(tmp_path, monkeypatch):
    monkeypatch.setenv(VARIABLE, "en-XA")
    page, manifest, pseudo = shell(tmp_path)
    assert '<html lang="en-XA" ' in page
    assert manifest["lang"] == "en-XA"
    assert manifest["description"].startswith("[Ŵéîĝĥ, çööļ åñð")
    assert pseudo == 200


@pytest.mark.parametrize("wanted", ["fr-FR", "en", "EN-GB", "en-XA "])
def test_another_language_is_refused_in_a_sentence(tmp_path, monkeypatch, wanted):
    monkeypatch.setenv(VARIABLE, wanted)
    with pytest.raises(words.InputError, match=f"BENCHAPP_LANGUAGE is {wanted}, which is not sp"):
        create_app(data_dir=tmp_path / "data")
    assert list(tmp_path.iterdir()) == []


def test_the_phone_speaks_what_its_server_speaks(server, phone):
    phone.goto(server(demo=True, environment={VARIABLE: "en-XA"}).url)
    expect(phone.locator("#screen h1")).to_be_visible()
    spoken = phone.evaluate("async () => (await import('/static/words/door.js')).languageTag()")
    assert spoken == "en-XA"


def plain(text, *values):
    """Words in plain letters: those that did not pass the door, but for the values told."""
    for value in values:
        text = text.replace(value, "")
    return re.findall(r"[A-Za-z]{2,}", text)


def test_the_servers_own_answers_are_worded(tmp_path, monkeypatch):
    monkeypatch.setenv(VARIABLE, "en-XA")
    client = create_app(data_dir=tmp_path / "data").test_client()
    for method, path, status in (
        ("GET", "/nowhere", 404),
        ("POST", "/", 405),
        ("DELETE", "/sw.js", 405),
        ("GET", "/api/devices", 401),
        ("GET", "/api/push", 401),
        ("POST", "/api/code", 400),
        ("GET", "/calendar/none.ics", 404),
    ):
        answer = client.open(path, method=method)
        assert answer.status_code == status
        said = answer.json["error"] if answer.is_json else answer.get_data(as_text=True)
        assert said.startswith("[")
        assert not plain(said)


def test_the_page_on_trust_is_worded():
    words.speak_in(PSEUDO)
    names = local_network.machine_names("bench-2")
    authority = certificates.make_authority(names, datetime.now(UTC)).certificate
    addresses = ["https://bench-2.local:8000/", "https://192.168.1.20:8000/"]
    html = trust.page(authority, addresses)
    assert '<html lang="en-XA">' in html
    body = html.partition("</style>")[2]
    text = re.sub(r"<[^>]*>", " ", body)
    fingerprint = certificates.fingerprint(authority).split(":")
    # The word between two addresses is the language's own, from CLDR.
    assert not plain(
        text, *addresses, " or ", "bench-ca.crt", "Pour bench on bench-2", *fingerprint
    )


def test_no_value_is_markup_on_the_page_on_trust():
    names = local_network.machine_names("bench-2")
    authority = certificates.make_authority(names, datetime.now(UTC)).certificate
    html = trust.page(authority, ["https://a/<b>&'\""])
    assert "<b>&" not in html
    assert html.count("https://a/&lt;b&gt;&amp;&#39;&#34;") == 4
