"""The invented workshop's safety data sheets: of a wax and of an oil.

Products and shares are made up for the demo; substances are chemistry, with the numbers that they
have, and classed as such sheets usually class them.
"""

from datetime import date, timedelta
from typing import Any

Record = dict[str, Any]


def sheets(today: date) -> list[tuple[str, str, Record]]:
    """Records, dated before ``today``."""
    return [
        (
            "safety_sheet",
            "demo-sheet-dune",
            {
                "material": ["wax", "demo-wax-dune"],
                "name": "Dune soft blend FF/D",
                "supplier": "demo-supplier-fen",
                "dated": str(today - timedelta(days=210)),
                "edition": "4.0",
                "language": "English",
                "stands": "not",
                "substances": [],
                "lists_all": "yes",
            },
        ),
        (
            "safety_sheet",
            "demo-sheet-slate",
            {
                "material": ["fragrance", "demo-oil-slate"],
                "name": "Wet slate QS 81",
                "supplier": "demo-supplier-quay",
                "dated": str(today - timedelta(days=95)),
                "edition": "2.1",
                "language": "English",
                "stands": "classified",
                "supplied": "Skin Irrit. 2, H315; Skin Sens. 1B, H317; Aquatic Chronic 2, H411",
                "substances": [
                    {
                        "name": "Linalool",
                        "cas": "78-70-6",
                        "ec": "201-134-4",
                        "share": "10 - < 15 %",
                        "classes": "Skin Irrit. 2, H315; Eye Irrit. 2, H319; Skin Sens. 1B, H317",
                        "limits": "",
                        "alone": "no",
                    },
                    {
                        "name": "1,3,4,6,7,8-hexahydro-4,6,6,7,8,8-hexamethylindeno[5,6-c]pyran",
                        "cas": "1222-05-5",
                        "ec": "214-946-9",
                        "share": "5 - < 10 %",
                        "classes": "Aquatic Acute 1, H400; Aquatic Chronic 1, H410",
                        "limits": "M (acute) = 1; M (chronic) = 1",
                        "alone": "no",
                    },
                    {
                        "name": "Coumarin",
                        "cas": "91-64-5",
                        "ec": "202-086-7",
                        "share": "1 - < 5 %",
                        "classes": "Acute Tox. 4, H302; Skin Sens. 1B, H317",
                        "limits": "ATE oral = 500 mg/kg",
                        "alone": "no",
                    },
                ],
                "lists_all": "yes",
                "ifra_edition": "51",
                "ifra_12": 1.0,
            },
        ),
    ]
