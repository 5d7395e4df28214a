"""The invented workshop's label, who sells there, and the sheets that it prints on.

Every name and figure in it is made up for the demo; the telephone number is one of those that are
kept free for fiction.
"""

from typing import Any

Record = dict[str, Any]


def labels() -> list[tuple[str, str, Record]]:
    """Records in base units."""
    return [
        (
            "maker",
            "maker",
            {
                "name": "maker",
                "called": "Salt Lane Candles",
                "address": "3 Salt Lane\nHarbour Town",
                "electronic": "hello@saltlane.example",
                "telephone": "01632 960 177",
            },
        ),
        (
            "label",
            "demo-label-slate",
            {
                "name": "Wet slate, round the tin",
                "recipe": "demo-recipe-slate",
                "market": "eu",
                "texts": [
                    {"language": "en", "says": "Scented candle"},
                    {"language": "de", "product": "Nasser Schiefer", "says": "Duftkerze"},
                ],
                "shape": "rect",
                "width_mm": 64.0,
                "height_mm": 34.0,
                "where": "wall",
                "holds_ml": 120.0,
                "states_g": 100.0,
                "burning": "tested",
                "cautions": "symbols",
                "code": "qr",
                "way": "label",
                "ink": "#000000",
                "paper": "#ffffff",
                "logo": "yes",
            },
        ),
        (
            "label_stock",
            "demo-stock-24",
            {
                "name": "sheet of 24, 64 × 34",
                "way": "sheet",
                "width_mm": 210.0,
                "height_mm": 297.0,
                "columns": 3,
                "rows": 8,
                "left_mm": 7.0,
                "top_mm": 9.0,
                "pitch_x_mm": 66.0,
                "pitch_y_mm": 35.0,
            },
        ),
    ]
