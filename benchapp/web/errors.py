"""Errors as a plain sentence that says what to do; never a stack trace."""

from flask import Flask, Response
from flask_wtf.csrf import CSRFError  # type: ignore[import-untyped]
from werkzeug.exceptions import HTTPException

_SENTENCES = {
    400: "The server could not read that request. Reload the page and try again.",
    404: "There is nothing at this address. Go back to the start page.",
    405: "This address does not take that kind of request. Go back to the start page.",
    413: "That is too much to send in one go. Send less at a time.",
}
_CSRF = "The server could not tell that this came from its own page. Reload it and try again."
_OURS = "Something went wrong on the server; its log says what. What the phone keeps is untouched."


def _answer(status: int, sentence: str) -> Response:
    response = Response(sentence + "\n", status, mimetype="text/plain")
    response.headers["Cache-Control"] = "no-store"
    return response


def register(app: Flask) -> None:
    """Make `app` answer every error in plain text."""

    @app.errorhandler(CSRFError)
    def csrf(error: CSRFError) -> Response:
        return _answer(400, _CSRF)

    @app.errorhandler(HTTPException)
    def http(error: HTTPException) -> Response:
        if error.response is not None or error.code is None or error.code < 400:
            # A redirect is an HTTPException too.
            response = error.get_response()
            return Response(response.get_data(), response.status, response.headers)
        status = error.code
        general = _OURS if status >= 500 else "The server did not take that request."
        answer = _answer(status, _SENTENCES.get(status, general))
        if status == 405:
            answer.headers["Allow"] = ", ".join(sorted(getattr(error, "valid_methods", None) or ()))
        return answer

    @app.errorhandler(Exception)
    def ours(error: Exception) -> Response:
        app.logger.exception("Unexpected error")
        return _answer(500, _OURS)
