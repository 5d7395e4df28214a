"""What a file is, decided by its bytes and never by its name.

A phone makes its photos anew, as JPEG; a server takes no more than that and what a workshop's
papers are.
"""

import warnings
from pathlib import Path

from benchapp.words import WordedError

MOST_BYTES = 20_000_000
"""Of one file, unless a server says otherwise."""

MOST_PIXELS = 4_000_000
"""Of a picture: a phone sends 1600 by 1600 at most. A larger one is never unpacked."""

#: The first bytes of each (ISO/IEC 10918-1 annex B; PNG specification 5.2; RFC 9649 section 2;
#: ISO 32000-1 section 7.5.2), and the name that Pillow gives a picture.
TYPES = {
    "image/jpeg": (b"\xff\xd8\xff", "JPEG"),
    "image/png": (b"\x89PNG\r\n\x1a\n", "PNG"),
    "image/webp": (b"RIFF", "WEBP"),
    "application/pdf": (b"%PDF-", ""),
}

#: What Pillow raises where a file is damaged, or unpacks to more than it should.
_NO_PICTURE = (OSError, SyntaxError, ValueError, EOFError, ArithmeticError, LookupError)


class WrongFile(WordedError):
    """It is no photo and no paper that is kept."""


def first_look(head: bytes) -> str | None:
    """The type that a file's first 12 bytes tell; None: none that is kept."""
    for type_, (begins, _) in TYPES.items():
        if head.startswith(begins) and (type_ != "image/webp" or head[8:12] == b"WEBP"):
            return type_
    return None


def type_of(path: Path) -> str:
    """The type of a file, as it is served later; a picture is unpacked to see that it is whole.

    Raises WrongFile, OSError.
    """
    with path.open("rb") as file:
        found = first_look(file.read(12))
    if found is None:
        raise WrongFile("That is no photo and no PDF: only those can be kept.")
    if found != "application/pdf":
        _check_picture(path, TYPES[found][1])
    return found


def _check_picture(path: Path, pillow_name: str) -> None:
    from PIL import Image  # noqa: PLC0415  (rarely needed)

    try:
        with warnings.catch_warnings():
            # Of sizes that are refused here anyway.
            warnings.simplefilter("ignore")
            with Image.open(path, formats=(pillow_name,)) as opened:
                wide, high = opened.size
                if wide * high > MOST_PIXELS:
                    raise WrongFile(
                        "That picture has too many pixels: {most} at most.", most=MOST_PIXELS
                    )
                # A JPEG at an eighth of its size, which still reads all of it.
                opened.draft("RGB", (max(1, wide // 8), max(1, high // 8)))
                opened.load()
    except (*_NO_PICTURE, Image.DecompressionBombError) as error:
        raise WrongFile("That picture is damaged: take or choose it once more.") from error
