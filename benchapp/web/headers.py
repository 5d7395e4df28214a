"""The security headers, the same on every answer.

The phone keeps a cached page's headers as they were when it was stored, so their text is part of
the shell's version.
"""

from flask import Flask, Response

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
        "font-src 'self'; media-src 'self' blob:; connect-src 'self'; worker-src 'self'; "
        "manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; "
        "require-trusted-types-for 'script'; trusted-types app-url"
    ),
    "Permissions-Policy": (
        "screen-wake-lock=(self), microphone=(self), accelerometer=(self), gyroscope=(self), "
        "on-device-speech-recognition=(self), camera=(), geolocation=(), payment=(), usb=(), "
        "serial=(), hid=(), midi=(), display-capture=()"
    ),
    # Not no-referrer: the CSRF check over HTTPS wants to see where a POST comes from.
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}


def register(app: Flask) -> None:
    """Put HEADERS on every answer of `app`, errors included."""

    @app.after_request
    def add(response: Response) -> Response:
        for name, value in HEADERS.items():
            # A stricter one stands, as that of an attachment.
            response.headers.setdefault(name, value)
        return response
