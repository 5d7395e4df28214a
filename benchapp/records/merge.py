"""Records merge field by field, and a field is a set of versions that only grows.

A record is ``{"kind", "id", "fields": {name: field}}``. A field is the version that stands, with
the others behind it, newest first::

    {"value": 285, "stamp": "…", "over": ["…"], "past": [{"value": 280, "stamp": "…"}]}

A version is named by its stamp and never changes; ``over`` names the versions that its writer saw
and replaced. The latest stamp stands. A merge is the union of both sides' versions, so it is
commutative, associative and idempotent. A version that nobody has replaced, and that does not
stand, was written apart: a clash, kept until she settles it.

A delete is the field ``deleted``, and replaces what its writer saw of all fields. Of a delete and a
change of any other field the later one stands; written apart, they clash as well.

Where a version of the field ``erased`` is true, a person asked to be forgotten: of such a record
nothing is kept but that it was erased and deleted, whatever it is merged with.

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
    return without_erased(fields)


def without_erased(fields: Fields) -> Fields:
    """The fields, or what is left of them where they were erased."""
    if not is_erased(fields):
        return fields
    return {name: field for name, field in fields.items() if name in ("erased", "deleted")}


def is_erased(fields: Fields) -> bool:
    return any(each["value"] is True for each in versions(fields.get("erased", {"value": None})))


def merge_fields(one: Field, other: Field) -> Field:
    """The union of two fields' versions; ``one`` itself where ``other`` adds nothing."""
    known = {each["stamp"] for each in versions(one)}
    added = [each for each in versions(other) if each["stamp"] not in known]
    if not added:
        return one
    ranked = sorted([*versions(one), *added], key=lambda each: str(each["stamp"]), reverse=True)
    return {**ranked[0], "past": ranked[1:]}


def standing(fields: Fields, name: str) -> Version:
    """The version that stands in a field; for a delete that was followed by a change, that it does
    not stand."""
    field = fields[name]
    last = max(_changes(fields), default="") if _is_delete(name, field["value"]) else ""
    return {"value": False, "stamp": last} if last > field["stamp"] else field


def _is_delete(name: str, value: Any) -> bool:
    return name == "deleted" and value is True


def _changes(fields: Fields) -> list[str]:
    """The stamps of what stands in the other fields than ``deleted``, the latest last."""
    return sorted(field["stamp"] for name, field in fields.items() if name != "deleted")


def plain_values(fields: Fields) -> dict[str, Any]:
    """The values that stand: field -> value."""
    return {name: standing(fields, name)["value"] for name in fields}


def clashes(fields: Fields, name: str) -> list[Version]:
    """The versions that were written apart from the one that stands in a field, and say something
    else."""
    everything = versions(fields[name])
    replaced = {stamp for each in everything for stamp in each.get("over", ())}
    apart = [each for each in everything[1:] if each["stamp"] not in replaced]
    if name == "deleted":
        apart = [*_apart_from_delete(fields), *apart]
    value = standing(fields, name)["value"]
    return [each for each in apart if each["value"] != value]


def _apart_from_delete(fields: Fields) -> list[Version]:
    """What may have been written apart from a delete: the delete itself where a later change
    stands, and the last of the changes before it that its writer did not see."""
    everything = versions(fields["deleted"])
    delete = everything[0]
    over = set(delete.get("over", ()))
    # One that names nothing of other fields was written before deletes did: what it saw is not
    # known.
    is_known = bool(over - {each["stamp"] for each in everything})
    unseen = [each for each in _changes(fields) if each < delete["stamp"] and each not in over]
    last = [{"value": False, "stamp": each} for each in unseen[-1:] if is_known]
    return [delete, *last]
