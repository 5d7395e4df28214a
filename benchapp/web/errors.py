"""Errors as a plain sentence that says what to do; never a stack trace. JSON under /api/."""

from collections.abc import Mapping
from typing import Any

from flask import Flask, Response, json, request
from flask_wtf.csrf import CSRFError  # type: ignore[import-untyped]
from werkzeug.exceptions import HTTPException

from benchapp.records.database import Broken, Unavailable
from benchapp.words import Message, WordedError, n_, t

_SENTENCES = {
    400: n_("The server could not read that request. Reload the page and try again."),
    404: n_("There is nothing at this address. Go back to the start page."),
    405: n_("This address does not take that kind of request. Go back to the start page."),
    413: n_("That is too much to send in one go. Send less at a time."),
}
_CSRF = n_("The server could not tell that this came from its own page. Reload it and try again.")
_OURS = n_(
    "Something went wrong on the server. Its log says what. What is saved on the phone is safe."
)
_BROKEN = n_(
    "The server can't use its records just now, so nothing was stored there. Its log says what is "
    "to be done; the phone keeps everything until then."
)
_NOT_TAKEN = n_("The server did not take that request.")
_RETRY_S = 5


class Refused(WordedError):
    """Answers the request with a sentence and a status.

    Attributes:
        status: of HTTP (RFC 9110 section 15), 400 or more.
        retry_s: seconds after which it may be tried again (Retry-After), None: not told.
        also: what else the phone's program should know, beside the sentence in the JSON.
    """

    def __init__(
        self,
        sentence: str | Message | Exception,
        /,
        *,
        status: int,
        retry_s: int | None = None,
        also: Mapping[str, Any] | None = None,
        **values: object,
    ) -> None:
        super().__init__(sentence, **values)
        self.status = status
        self.retry_s = retry_s
        self.also = also or {}


def _answer(
    status: int, sentence: str, retry_s: int | None = None, also: Mapping[str, Any] | None = None
) -> Response:
    """``sentence`` is worded."""
    if request.path.startswith("/api/"):
        body = json.dumps({"error": sentence, **(also or {})})
        response = Response(body + "\n", status, mimetype="application/json")
    else:
        response = Response(sentence + "\n", status, mimetype="text/plain")
    response.headers["Cache-Control"] = "no-store"
    if retry_s is not None:
        response.headers["Retry-After"] = str(retry_s)
    return response


def register(app: Flask) -> None:
    """Make `app` answer every error in plain text, or in JSON where a program asked."""

    @app.errorhandler(Refused)
    def refused(error: Refused) -> Response:
        return _answer(error.status, str(error), error.retry_s, error.also)

    @app.errorhandler(Unavailable)
    def unavailable(error: Unavailable) -> Response:
        return _answer(503, str(error), _RETRY_S)

    @app.errorhandler(Broken)
    def broken(error: Broken) -> Response:
        # Where its files lie is nobody's business but the operator's.
        app.logger.error("%s", error)
        return _answer(503, t(_BROKEN), _RETRY_S)

    @app.errorhandler(CSRFError)
    def csrf(error: CSRFError) -> Response:
        # The phone's page can fetch another token by itself.
        return _answer(400, t(_CSRF), also={"csrf": True})

    @app.errorhandler(HTTPException)
    def http(error: HTTPException) -> Response:
        if error.response is not None or error.code is None or error.code < 400:
            # A redirect is an HTTPException too.
            response = error.get_response()
            return Response(response.get_data(), response.status, response.headers)
        status = error.code
        general = _OURS if status >= 500 else _NOT_TAKEN
        answer = _answer(status, t(_SENTENCES.get(status, general)))
        if status == 405:
            answer.headers["Allow"] = ", ".join(sorted(getattr(error, "valid_methods", None) or ()))
        return answer

    @app.errorhandler(Exception)
    def ours(error: Exception) -> Response:
        app.logger.exception("Unexpected error")
        return _answer(500, t(_OURS))
