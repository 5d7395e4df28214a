"""Commands and options whose help is worded when it is shown, once the language is known."""

from collections.abc import Callable
from typing import Any, TypeVar

import click

from benchapp.words import t

Function = TypeVar("Function", bound=Callable[..., Any])

_PARAGRAPH = "\n\n"


class _WordedHelp:
    """Keeps help as it is written, and gives it in the language that is spoken."""

    _help: str | None = None

    @property
    def help(self) -> str | None:
        if self._help is None:
            return None
        return _PARAGRAPH.join(t(each) for each in self._help.split(_PARAGRAPH))

    @help.setter
    def help(self, written: str | None) -> None:
        self._help = written


class WordedOption(_WordedHelp, click.Option):
    """An option; a sentence instead of its default is worded too."""

    _show_default: bool | str | None = None

    @property
    def show_default(self) -> bool | str | None:
        shown = self._show_default
        return t(shown) if isinstance(shown, str) else shown

    @show_default.setter
    def show_default(self, written: bool | str | None) -> None:
        self._show_default = written


class WordedCommand(_WordedHelp, click.Command):
    """A command."""

    def get_help_option(self, ctx: click.Context) -> click.Option | None:
        """click's own, worded."""
        found = super().get_help_option(ctx)
        if found is not None:
            found.help = t("Show this message and exit.")
        return found


class WordedGroup(WordedCommand, click.Group):
    """Several commands under one name."""


def command(
    *paragraphs: str, name: str | None = None
) -> Callable[[Callable[..., Any]], click.Command]:
    """Make a function a command, its help the paragraphs (each marked with ``n_``)."""
    return click.command(name, cls=WordedCommand, help=_PARAGRAPH.join(paragraphs))


def option(*names: str, help: str, **how: Any) -> Callable[[Function], Function]:
    """Give a command an option, as ``click.option`` does; ``help`` is marked with ``n_``."""
    return click.option(*names, cls=WordedOption, help=help, **how)
