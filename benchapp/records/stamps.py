"""Stamps of the hybrid logical clock, as the phone makes them: text that sorts as it ranks.

Milliseconds since 1970 (15 digits), a count within the millisecond (4 digits, base 36) and the
device, which settles a tie: ``001764070400000.0000.k3v9q2ax``. Made by ``static/records/stamp.js``.

The clock is that of Kulkarni, Demirbas, Madappa, Avva and Leone, "Logical Physical Clocks and
Consistent Snapshots in Globally Distributed Databases" (2014), with the device as the last word.
"""

import re

_FORM = re.compile(r"(\d{15})\.[0-9a-z]{4}\.[0-9a-z]{1,16}", re.ASCII)

#: Older than any stamp a device makes: what was there from the start, such as a demo's records.
EARLIEST = f"{0:015d}.0000.0"


def ms_of(stamp: str) -> int | None:
    """Milliseconds since 1970 of a stamp, or None where ``stamp`` is not one."""
    found = _FORM.fullmatch(stamp)
    return int(found[1]) if found else None
