"""What a phone that is new here is handed: a page on how to trust the bench, and the authority."""

import base64
import hashlib
import plistlib
import uuid
from collections.abc import Sequence
from typing import Any

from babel.lists import format_list
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from jinja2 import Environment, FileSystemLoader
from markupsafe import Markup, escape

from benchapp import paths, words
from benchapp.web import certificates
from benchapp.words import t

_STYLE = """
:root { color-scheme: light dark; --ink: #17211c; --paper: #f6f4ec; --line: #b9c2b8;
  --button: #17503a; --label: #fff; }
@media (prefers-color-scheme: dark) { :root { --ink: #eef1ea; --paper: #101a15;
  --line: #46574d; --button: #f3c614; --label: #17211c; } }
body { margin: 0 auto; padding: 1.25rem; max-width: 34rem; background: var(--paper);
  color: var(--ink); font: 1.0625rem/1.5 system-ui, sans-serif; overflow-wrap: anywhere; }
h1 { margin: 0 0 .75rem; font-size: 1.75rem; line-height: 1.15; }
h2 { margin: 2rem 0 .5rem; padding-top: 1rem; border-top: 1px solid var(--line);
  font-size: 1.25rem; }
ol { padding-left: 1.4rem; }
li { margin: .6rem 0; }
a { color: inherit; }
a.take { display: block; margin: .5rem 0; padding: .8rem 1rem; border-radius: .5rem;
  background: var(--button); color: var(--label); font-weight: 600; text-align: center;
  text-decoration: none; }
code { font: .9375rem/1.5 ui-monospace, monospace; }
"""

_STYLE_HASH = base64.b64encode(hashlib.sha256(_STYLE.encode()).digest()).decode()

HEADERS = {
    "Content-Security-Policy": (
        f"default-src 'none'; style-src 'sha256-{_STYLE_HASH}'; base-uri 'none'; "
        "form-action 'none'; frame-ancestors 'none'"
    ),
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "Cache-Control": "no-store",
}


def page(authority: x509.Certificate, addresses: Sequence[str]) -> str:
    """How to trust the bench, as HTML. `addresses` are those of the bench, the best one first."""
    links = [Markup('<a href="{0}">{0}</a>').format(address) for address in addresses]
    pairs = certificates.fingerprint(authority).split(":")
    environment = Environment(
        loader=FileSystemLoader(paths.TEMPLATES), autoescape=True, trim_blocks=True
    )
    environment.globals.update(t=_t, language_tag=words.language_tag)
    return environment.get_template("trust.html").render(
        style=_STYLE,
        links=_any_of(links),
        name=certificates.common_name(authority),
        fingerprint=[" ".join(pairs[start : start + 8]) for start in range(0, len(pairs), 8)],
    )


def _t(template: str, /, **values: Any) -> Markup:
    """A sentence in words, for HTML: all is escaped but values that are markup."""
    return escape(t(template)).format(**values)


def _any_of(parts: Sequence[Markup]) -> Markup:
    """'one', 'one or two', 'one, two or three'."""
    places = [f"{{{number}}}" for number in range(len(parts))]
    return escape(format_list(places, style="or", locale=words.locale())).format(*parts)


def profile(authority: x509.Certificate) -> bytes:
    """The authority as a configuration profile, which is how an iPhone takes one.

    Its identifiers come from the certificate, so that installing twice replaces.
    Source: Apple, Configuration Profile Reference, payload com.apple.security.root.
    """
    name = certificates.common_name(authority)
    print_ = certificates.fingerprint(authority)
    inner, outer = (
        str(uuid.uuid5(uuid.NAMESPACE_OID, f"{part} {print_}")).upper()
        for part in ("certificate", "profile")
    )
    payload = {
        "PayloadType": "com.apple.security.root",
        "PayloadVersion": 1,
        "PayloadIdentifier": f"bench.{outer}.root",
        "PayloadUUID": inner,
        "PayloadDisplayName": name,
        "PayloadCertificateFileName": "bench-ca.crt",
        "PayloadContent": authority.public_bytes(Encoding.DER),
    }
    whole = {
        "PayloadType": "Configuration",
        "PayloadVersion": 1,
        "PayloadIdentifier": f"bench.{outer}",
        "PayloadUUID": outer,
        "PayloadDisplayName": name,
        "PayloadDescription": t("Lets this phone trust the pour bench on the house network."),
        "PayloadContent": [payload],
    }
    return plistlib.dumps(whole)
