"""The `benchapp` command. Each command imports what it needs when it runs, so --help is quick."""

import click

from benchapp.commands import (
    backup,
    copies,
    devices,
    doctor,
    forecast,
    plan,
    remind,
    serve,
)


@click.group(context_settings={"auto_envvar_prefix": "BENCHAPP", "show_default": True})
def main() -> None:
    """A pour bench for hand candle makers: serve the app, or do its sums at a desk."""


for _command in (
    serve.serve,
    plan.plan,
    forecast.forecast,
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
