"""How long labels take, and how much memory: ``python -m tests.benchmarks.labels``.

A label with hazard part in two languages, QR code and logo, on sheets of A4; each number of labels
in a process of its own, so that its highest memory is its own. Beside it: how long a label takes to
be set and its picture drawn, one that fits and one that does not, of which all ways are tried.
"""

import argparse
import base64
import json
import resource
import subprocess
import sys
import time
from typing import Any

from benchapp.desk.label.making import make
from tests.desk.label.asking import asked

NUMBERS = (1, 24, 250, 500, 1000, 2000)
LOGO = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 20">'
    '<path d="M2 18Q15 -8 30 18T58 10" fill="none" stroke="#1d3b4a" stroke-width="3"/></svg>'
)
SHEET = {
    "way": "sheet", "width_mm": 210, "height_mm": 297, "rows": 3, "columns": 3, "left_mm": 6,
    "top_mm": 6, "pitch_x_mm": 66, "pitch_y_mm": 96,
}  # fmt: skip
LABEL: dict[str, Any] = {
    "width_mm": 64,
    "height_mm": 94,
    "logo": {"type": "image/svg+xml", "base64": base64.b64encode(LOGO.encode()).decode()},
}


def measured(n: int) -> dict[str, float]:
    """Of n labels in this process: seconds, bytes of the PDF, MB at the most."""
    make(asked(**LABEL))
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    start = time.perf_counter()
    answer = make(asked({"n": n, "paper": SHEET}, **LABEL))
    took = time.perf_counter() - start
    return {
        "seconds": took,
        "pdf_bytes": len(base64.b64decode(answer["pdf"])),
        "pages": answer["pages"],
        "before_mb": before / 1024,
        "most_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
    }


def apart(n: int) -> dict[str, float]:
    done = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks.labels", "--one", str(n)],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    found: dict[str, float] = json.loads(done.stdout)
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--one", type=int, help="measure so many in this process, as JSON")
    chosen = parser.parse_args()
    if chosen.one is not None:
        print(json.dumps(measured(chosen.one)))
        return
    print(
        f"{'labels':>6} {'pages':>5} {'seconds':>8} {'PDF kB':>7} {'MB before':>9} {'MB most':>8}"
    )
    for n in NUMBERS:
        row = apart(n)
        print(
            f"{n:>6} {row['pages']:>5} {row['seconds']:>8.2f} {row['pdf_bytes'] / 1000:>7.0f} "
            f"{row['before_mb']:>9.0f} {row['most_mb']:>8.0f}"
        )
    tin = {"shape": "round", "width_mm": 50, "height_mm": 50}
    for name, changes in (("fits", {}), ("does not fit, all ways tried", tin)):
        make(asked(**changes))
        start = time.perf_counter()
        for _ in range(10):
            make(asked(**changes))
        print(f"one label that {name}: {(time.perf_counter() - start) / 10:.2f} s")


if __name__ == "__main__":
    main()
