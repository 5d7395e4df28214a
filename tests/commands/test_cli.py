"""The command `benchapp` itself."""

import subprocess
import sys


def test_help_loads_neither_pint_nor_flask():
    asked = "import sys\nfrom benchapp.cli import main\ntry: main(['--help'])\n"
    asked += "except SystemExit: print([m for m in ('pint', 'flask') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert "plan" in done.stdout
    assert "forecast" in done.stdout
    assert done.stdout.splitlines()[-1] == "[]"
