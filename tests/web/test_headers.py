"""The same headers on every kind of answer, and errors in plain sentences."""

import pytest

from benchapp.web.app import create_app
from benchapp.web.headers import HEADERS


@pytest.fixture
def app(tmp_path, small_shell):
    app = create_app(data_dir=tmp_path / "data", demo=True)

    @app.get("/breaks")
    def breaks():
        raise RuntimeError("a secret detail")

    return app


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("GET", "/", 200),
        ("HEAD", "/", 200),
        ("GET", "/sw.js", 200),
        ("GET", "/manifest.webmanifest", 200),
        ("GET", "/static/start.js", 200),
        ("GET", "/static/icons/icon.svg", 200),
        ("GET", "/static/missing.js", 404),
        ("GET", "/static/../pyproject.toml", 404),
        ("GET", "/missing", 404),
        ("POST", "/", 405),
        ("OPTIONS", "/", 200),
        ("GET", "/breaks", 500),
    ],
)
def test_every_answer_has_the_headers(app, method, path, status):
    response = app.test_client().open(path, method=method)
    assert response.status_code == status
    for name, value in HEADERS.items():
        assert response.headers.getlist(name) == [value]


def test_the_policy_forbids_what_it_should():
    policy = dict(
        part.strip().split(" ", 1) for part in HEADERS["Content-Security-Policy"].split(";")
    )
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == "'self'"
    assert policy["require-trusted-types-for"] == "'script'"
    assert policy["trusted-types"] == "app-url"
    assert "unsafe" not in HEADERS["Content-Security-Policy"]


@pytest.mark.parametrize("path", ["/missing", "/breaks"])
def test_errors_are_one_plain_sentence(app, path):
    response = app.test_client().get(path)
    assert response.mimetype == "text/plain"
    assert response.headers["Cache-Control"] == "no-store"
    text = response.get_data(as_text=True)
    assert text.strip().endswith(".")
    assert "Traceback" not in text
    assert "secret detail" not in text


def test_a_post_without_a_token_is_refused(app):
    @app.post("/keep")
    def keep():
        return "kept"

    response = app.test_client().post("/keep")
    assert response.status_code == 400
    assert "own page" in response.get_data(as_text=True)
    assert response.headers["Content-Security-Policy"] == HEADERS["Content-Security-Policy"]


def test_the_shell_touches_no_cookie(app):
    for path in ("/", "/sw.js", "/static/start.js"):
        response = app.test_client().get(path, headers={"Cookie": "session=old"})
        assert "Set-Cookie" not in response.headers
        assert "Cookie" not in response.headers.get("Vary", "")


def test_the_demo_is_there_only_when_asked_for(tmp_path, app, small_shell):
    plain = create_app(data_dir=tmp_path / "data")
    assert plain.test_client().get("/demo.json").status_code == 404
    rules = {rule.rule for rule in plain.url_map.iter_rules()}
    assert "/demo.json" not in rules
    assert "/demo.json" in {rule.rule for rule in app.url_map.iter_rules()}
