"""The record of an attachment: of what it is, what it shows, and which bytes it names.

``static/records/attachments.js`` writes it. The bytes are kept apart, by their hash; a small
picture of them is in the record, so that it is seen on a phone that does not have them.
"""

import base64
import binascii
import re
from typing import Any

from wtforms import Form
from wtforms.validators import ValidationError

from benchapp.records.attachments.file_type import MOST_BYTES, TYPES
from benchapp.records.events import MOST_MS
from benchapp.records.fields import ID, Kept, OneOf, Plain, Whole, Words
from benchapp.records.shapes import KIND
from benchapp.words import n_, t

MOST_SMALL = 6000
"""Bytes of the small picture in the record."""

SHA256 = re.compile(r"[0-9a-f]{64}")


class OfRecord(Kept):
    """The record that it belongs to: its kind and its id."""

    kept_as = "of_record"

    def check(self, value: Any) -> None:
        is_pair = isinstance(value, list) and len(value) == 2
        if not is_pair or not all(isinstance(each, str) for each in value):
            raise ValidationError(t("{label} can't be read.", label=self.called))
        if not KIND.fullmatch(value[0]) or not ID.fullmatch(value[1]):
            raise ValidationError(t("{label} can't be read.", label=self.called))


class Hash(Kept):
    """The SHA-256 of the bytes, as 64 small hexadecimal digits."""

    kept_as = "sha256"

    def check(self, value: Any) -> None:
        if not isinstance(value, str) or not SHA256.fullmatch(value):
            raise ValidationError(t("{label} can't be read.", label=self.called))


class SmallPicture(Kept):
    """A JPEG of at most ``MOST_SMALL`` bytes in Base64 (RFC 4648 section 4)."""

    kept_as = "small_picture"

    def check(self, value: Any) -> None:
        try:
            found = base64.b64decode(value, validate=True) if isinstance(value, str) else b""
        except (binascii.Error, ValueError):
            found = b""
        if not found.startswith(b"\xff\xd8\xff") or len(found) > MOST_SMALL:
            raise ValidationError(t("{label} can't be read.", label=self.called))


class Attachment(Form):
    """A photo or a paper of another record."""

    name = Words(n_("File name"), needed=True, most=200)
    of = OfRecord(n_("What it belongs to"), needed=True)
    what = OneOf(
        n_("What it shows"),
        choices=[
            ("top", n_("the tops")),
            ("melt_pool", n_("the melt pool")),
            ("label", n_("a label")),
            ("certificate", n_("a certificate")),
            ("sheet", n_("a safety data sheet")),
            ("receipt", n_("a receipt")),
            ("vessel", n_("a vessel")),
            ("other", n_("something else")),
        ],
        default="other",
    )
    sha256 = Hash(n_("Its bytes"), needed=True)
    bytes = Whole(n_("Size"), least=1, most=MOST_BYTES, needed=True)
    type = OneOf(n_("File type"), choices=[(each, each) for each in TYPES], needed=True)
    width = Plain(n_("Width"), least=1, most=100_000)
    height = Plain(n_("Height"), least=1, most=100_000)
    taken_at = Whole(n_("Added"), least=0, most=MOST_MS, needed=True)
    small = SmallPicture(n_("Small picture"))
