"""`python -m benchapp` is the same as `benchapp`."""

from benchapp.cli import main

main(prog_name="benchapp")
