"""What the desk takes is what a phone can keep."""

from benchapp.desk.label import asked
from benchapp.desk.statements import languages
from benchapp.records import label_events, labels


def choices(field: str) -> set[str]:
    return {value for value, _words in getattr(labels.Label(), field).choices}


def test_a_label_can_be_kept_in_every_language_that_there_are_statements_in() -> None:
    assert {value for value, _words in labels.LANGUAGES} == set(languages())
    assert labels.MOST_LANGUAGES == asked.MOST_LANGUAGES


def test_whatever_may_be_chosen_is_known() -> None:
    assert choices("market") == set(asked.MARKETS)
    assert choices("shape") == set(asked.SHAPES)
    assert choices("where") == set(asked.WHERE)
    assert choices("way") == set(asked.WAYS)
    assert choices("code") == set(asked.CODES)
    assert choices("cautions") == set(asked.CAUTIONS)


def test_as_many_are_printed_at_once_as_an_event_holds() -> None:
    assert label_events.MOST_PRINTED == asked.MOST_LABELS
