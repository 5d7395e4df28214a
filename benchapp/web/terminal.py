"""What a terminal can show beside plain lines."""

import io
import os
import sys


def qr(text: str) -> str:
    """`text` as a QR code of half blocks; nothing where the terminal cannot show those.

    A line break stands after each row. In a terminal it is white on black whatever the colours
    there: a code drawn dark on light as if it were light on dark is one that many phones do not
    read.
    """
    import segno  # noqa: PLC0415

    drawn = io.StringIO()
    segno.make(text, micro=False).terminal(out=drawn, compact=True)
    try:
        drawn.getvalue().encode(sys.stdout.encoding or "ascii")
    except UnicodeEncodeError:
        return ""
    rows = drawn.getvalue().splitlines()
    if sys.stdout.isatty() and os.name == "posix":
        rows = [f"\033[38;5;231;48;5;16m{row}\033[0m" for row in rows]
    return "".join(f"{row}\n" for row in rows)
