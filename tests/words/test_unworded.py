"""A message goes to the phone unworded, and says the same there."""

import json
from fractions import Fraction

from playwright.sync_api import Page

from benchapp.words import literal, message, unworded


def test_a_message_is_its_template_and_its_values():
    said = message("{sum} is more than {limit} %.", sum=literal("A + B"), limit=10)
    assert unworded(said) == {
        "template": "{sum} is more than {limit} %.",
        "values": {"sum": {"template": "{text}", "values": {"text": "A + B"}}, "limit": 10},
    }


def test_what_json_lacks_becomes_its_text():
    held = unworded(message("{share}", share=Fraction(1, 3)))
    assert json.loads(json.dumps(held)) == {"template": "{share}", "values": {"share": "1/3"}}


def test_the_phone_says_the_same(twin: Page):
    said = message("{name}: {rest}", name="Flax", rest=message("At {n} %.", n=2.5))
    worded = twin.evaluate(
        """async (held) => {
          const door = await import('/words/door.js');
          door.speakIn({ tag: 'en-GB', translate: String });
          return door.worded(held);
        }""",
        unworded(said),
    )
    assert worded == str(said)
