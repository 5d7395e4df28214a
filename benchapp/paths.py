"""Where the files that are not Python live: beside the package in a checkout, in it in a wheel."""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent
_IN_WHEEL = _PACKAGE / "assets"
_ROOT = _IN_WHEEL if _IN_WHEEL.is_dir() else _PACKAGE.parent

STATIC = _ROOT / "static"
TEMPLATES = _ROOT / "templates"
SERVICE_WORKER = _ROOT / "service_worker"
