"""Which language a server speaks: English, or the pseudo-language that finds unworded text."""

import json

import pytest
from playwright.sync_api import expect

from benchapp import words
from benchapp.web.app import create_app
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
    assert '<html lang="en-GB">' in page
    assert manifest["lang"] == "en-GB"
    assert manifest["description"].startswith("Weigh, cool and pour")
    assert pseudo == 404


def test_the_pseudo_language_has_its_file_in_the_shell(tmp_path, monkeypatch):
    monkeypatch.setenv(VARIABLE, "en-XA")
    page, manifest, pseudo = shell(tmp_path)
    assert '<html lang="en-XA">' in page
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
