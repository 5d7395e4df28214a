"""Write the unit table for the phone: ``python -m benchapp.formulas.export``."""

import json
from pathlib import Path

from benchapp.formulas.units import phone_table

UNIT_TABLE = Path(__file__).parents[2] / "static" / "formulas" / "unit_table.js"


def unit_table() -> str:
    """The JavaScript module that holds pint's factors."""
    body = json.dumps(phone_table(), ensure_ascii=False, indent=1)
    made = "// Made from pint by `python -m benchapp.formulas.export`; not edited by hand."
    return f"{made}\nexport default {body};\n"


if __name__ == "__main__":
    UNIT_TABLE.write_text(unit_table(), encoding="utf-8")
