"""Records merge field by field, and a field is a set of versions that only grows.

A record is ``{"kind", "id", "fields": {name: field}}``. A field is the version that stands, with
the others behind it, newest first::

    {"value": 285, "stamp": "…", "over": ["…"], "past": [{"value": 280, "stamp": "…"}]}

A version is named by its stamp and never changes; ``over`` names the versions that its writer saw
and replaced. The latest stamp stands. A merge is the union of both sides' versions, so it is
commutative, associative and idempotent, and a delete is the field ``deleted``. A version that
nobody has replaced, and that does not stand, was written apart: a clash, kept until she settles it.

Its twin is ``static/records/merge.js``.
"""

from typing import Any

Version = dict[str, Any]
Field = dict[str, Any]
Fields = dict[str, Field]
Record = dict[str, Any]


def versions(field: Field) -> list[Version]:
    """All versions of a field, newest first."""
    standing = {name: value for name, value in field.items() if name != "past"}
    return [standing, *field.get("past", ())]


def merge_records(one: Record, other: Record) -> Record:
    """Both sides' knowledge of one record.

    Should a faulty device have given one stamp to two values, what ``one`` holds stands.
    """
    fields = union(one["fields"], other["fields"])
    return {"kind": one["kind"], "id": one["id"], "fields": fields}


def union(one: Fields, other: Fields) -> Fields:
    """The fields of both, each with the versions of both."""
    fields = dict(one)
    for name, field in other.items():
        fields[name] = merge_fields(fields[name], field) if name in fields else field
    return fields


def merge_fields(one: Field, other: Field) -> Field:
    """The union of two fields' versions; ``one`` itself where ``other`` adds nothing."""
    known = {each["stamp"] for each in versions(one)}
    added = [each for each in versions(other) if each["stamp"] not in known]
    if not added:
        return one
    ranked = sorted([*versions(one), *added], key=lambda each: str(each["stamp"]), reverse=True)
    return {**ranked[0], "past": ranked[1:]}


def plain_values(fields: Fields) -> dict[str, Any]:
    """The values that stand: field -> value."""
    return {name: field["value"] for name, field in fields.items()}


def clashes(field: Field) -> list[Version]:
    """The versions that were written apart from the one that stands, and say something else."""
    everything = versions(field)
    replaced = {stamp for each in everything for stamp in each.get("over", ())}
    return [
        each
        for each in everything[1:]
        if each["stamp"] not in replaced and each["value"] != field["value"]
    ]
