"""A request on its way to the app, and the answer on its way back."""

import pytest
from flask import Flask, Response, request

from benchapp.web import wsgi


@pytest.fixture
def app():
    app = Flask("alone")

    @app.route("/seen/<path:rest>", methods=["GET", "POST"])
    def seen(rest):
        return {
            "path": request.path,
            "query": request.query_string.decode(),
            "headers": {name.lower(): value for name, value in request.headers},
            "body": request.get_data(as_text=True),
            "from": request.remote_addr,
            "at": request.url_root,
        }

    @app.get("/pieces")
    def pieces():
        response = Response(iter([b"one ", b"two"]))
        response.call_on_close(lambda: app.extensions.setdefault("closed", True))
        return response

    @app.get("/large")
    def large():
        piece = b"x" * (wsgi.LARGE // 2)
        response = Response(iter([piece] * 3))
        response.headers["Content-Length"] = str(3 * len(piece))
        response.call_on_close(lambda: app.extensions.setdefault("closed", True))
        return response

    return app


def scope(path, headers=(), query=b"", method="GET"):
    return {
        "type": "http",
        "http_version": "1.1",
        "method": method,
        "path": path,
        "query_string": query,
        "headers": [(b"host", b"bench.example:8000"), *headers],
        "client": ("192.0.2.1", 5),
        "server": ("127.0.0.1", 8000),
        "scheme": "https",
    }


def ask(app, *given, body=b"", **more):
    return wsgi.answer(app, wsgi.environ_of(scope(*given, **more)), body)


def seen(app, *given, **more):
    answer = ask(app, *given, **more)
    assert answer.status == 200
    return app.json.loads(answer.body)


def test_the_app_is_asked_what_was_asked(app):
    headers = [
        (b"content-type", b"text/plain"),
        (b"content-length", b"7"),
        (b"accept", b"a"),
        (b"accept", b"b"),
        (b"x-name", b"\xe9"),
    ]
    found = seen(
        app, "/seen/né\0", headers, query="a=é&b=%2f".encode(), method="POST", body="né né".encode()
    )
    assert found == {
        "path": "/seen/né\0",
        "query": "a=%C3%A9&b=%2f",
        "headers": {
            "host": "bench.example:8000",
            "content-type": "text/plain",
            "content-length": "7",
            "accept": "a,b",
            "x-name": "é",
        },
        "body": "né né",
        "from": "192.0.2.1",
        "at": "https://bench.example:8000/",
    }


def test_cookies_that_come_apart_are_put_together(app):
    found = seen(app, "/seen/x", [(b"cookie", b"a=b"), (b"cookie", b"c=d")])
    assert found["headers"]["cookie"] == "a=b; c=d"


def test_no_header_passes_for_another(app):
    found = seen(app, "/seen/x", [(b"x_forwarded_for", b"192.0.2.9"), (b"content_length", b"9")])
    assert set(found["headers"]) == {"host"}


def test_an_answer_in_pieces_is_whole(app):
    answer = ask(app, "/pieces")
    assert answer.body == b"one two"
    assert app.extensions["closed"]
    assert all(name == name.lower() for name, _ in answer.headers)


def test_what_the_app_refuses_is_an_answer_too(app):
    assert ask(app, "/nothing").status == 404
    assert ask(app, "/pieces", method="HEAD").body == b""


def test_a_large_answer_comes_a_piece_at_a_time_and_is_closed_at_its_end(app):
    answer = ask(app, "/large")
    assert answer.body == b""
    assert "closed" not in app.extensions
    assert [len(piece) for piece in answer.rest] == [wsgi.LARGE // 2] * 3
    assert app.extensions["closed"]


def test_a_large_answer_that_nobody_takes_is_closed_too(app):
    answer = ask(app, "/large")
    next(answer.rest)
    assert "closed" not in app.extensions
    answer.rest.close()
    assert app.extensions["closed"]
