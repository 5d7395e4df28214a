"""The names of devices and workshops."""

from benchapp.words import InputError

MOST_NAME = 60
"""Characters of a name."""


def checked_name(name: object) -> str:
    """A name without spaces around it. Raises InputError where it can't be one."""
    found = name.strip() if isinstance(name, str) else ""
    if not found:
        raise InputError("A name is needed, so that you can tell one from another.", about="name")
    if len(found) > MOST_NAME or not found.isprintable():
        raise InputError(
            "A name is up to {most} letters, digits and signs on one line.",
            about="name",
            most=MOST_NAME,
        )
    return found
