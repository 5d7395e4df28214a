"""The `benchapp` command. Each command imports what it needs when it runs, so --help is quick."""

from typing import Any

import click

from benchapp.commands import (
    backup,
    classify,
    copies,
    devices,
    doctor,
    forecast,
    label,
    netcontent,
    plan,
    remind,
    serve,
)
from benchapp.commands.errors import Refused
from benchapp.commands.help import WordedGroup
from benchapp.words import InputError, n_
from benchapp.words.setting import speak_as_set


class Commands(WordedGroup):
    """All commands, in the language that the environment asks for."""

    def make_context(self, *given: Any, **named: Any) -> click.Context:
        try:
            speak_as_set()
        except InputError as error:
            raise Refused(error) from error
        return super().make_context(*given, **named)


main = Commands(
    "main",
    help=n_("A pour bench for hand candle makers: serve the app, or do its sums at a desk."),
    context_settings={"auto_envvar_prefix": "BENCHAPP", "show_default": True},
)

for _command in (
    serve.serve,
    plan.plan,
    forecast.forecast,
    netcontent.netcontent,
    classify.classify,
    label.label,
    devices.pair,
    devices.devices,
    devices.workshops,
    backup.backup,
    backup.restore,
    copies.export,
    copies.import_,
    remind.remind,
    doctor.doctor,
):
    main.add_command(_command)
