"""The rules of the house: lint, types, which way the arrows point, and what lies where."""

import ast
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
TYPESCRIPT = "typescript@7.0.2"
BIOME = "@biomejs/biome@2.6.8"

FOLDERS = {"benchapp", "static", "templates", "service_worker", "tests"}
FILES = {"README.md", "DEVELOPERS.md", "pyproject.toml"}

#: Python: what each room may import of the others.
PYTHON_ARROWS = {
    "words": {"paths"},
    "formulas": {"words"},
    "desk": {"words", "formulas"},
    "records": {"words", "formulas"},
    "reminders": {"words", "formulas", "records"},
    "web": {"words", "formulas", "desk", "records", "reminders", "paths"},
    "paths": set(),
    "commands": {"words", "formulas", "desk", "records", "reminders", "web"},
    "cli": {"words", "commands"},
    "__main__": {"cli"},
}

#: JavaScript: the same. The files at the top of static/ are rooms of their own.
JAVASCRIPT_ARROWS = {
    "words": set(),
    "formulas": {"words"},
    "records": {"words", "formulas"},
    "bench": {"words", "formulas", "records"},
    "shelf": {"words", "formulas", "records", "bench"},
    "burns": {"words", "formulas", "records", "bench"},
    "labels": {"words", "formulas", "records", "bench"},
    "hazards": {"words", "formulas", "records", "bench"},
    "products": {"words", "formulas", "records", "bench", "shelf", "burns", "hazards", "labels"},
    "attachments": {"words", "records"},
    "find": {"words", "formulas", "records", "bench", "shelf", "burns"},
    "offline.js": {"words"},
    "screens": {
        *("words", "formulas", "records", "bench", "shelf", "burns", "hazards", "labels"),
        *("products", "attachments", "find", "offline.js"),
    },
    "desk.js": set(),
    "addresses.js": {"screens", "desk.js"},
    "beside.js": {
        *("screens", "shelf", "burns", "labels", "attachments", "find"),
        *("desk.js", "addresses.js"),
    },
    "app.js": {
        *("words", "formulas", "records", "bench", "screens"),
        *("offline.js", "addresses.js", "beside.js"),
    },
    "start.js": {"app.js", "offline.js", "addresses.js"},
}

FORBIDDEN = {
    "innerHTML": r"\binnerHTML\b",
    "outerHTML": r"\bouterHTML\b",
    "insertAdjacentHTML": r"\binsertAdjacentHTML\b",
    "document.write": r"\bdocument\s*\.\s*write",
    "eval": r"\beval\s*\(",
    "new Function": r"\bnew\s+Function\b",
    "an inline style": r"""<[^>]*\sstyle\s*=|setAttribute\(\s*["'`]style["'`]""",
    "an inline handler": r"<[^>]*\son[a-z]+\s*=",
}


def run(*command: str) -> None:
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, f"{' '.join(command)}\n{done.stdout}{done.stderr}"


# ---- lint and types ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "tool",
    [("ruff", "check"), ("ruff", "format", "--check"), ("mypy",)],
    ids=["lint", "format", "types"],
)
def test_python_is_clean(tool: tuple[str, ...]) -> None:
    run(sys.executable, "-m", *tool, *(["."] if tool[0] == "ruff" else []))


def npx() -> str:
    """The runner of JavaScript tools; without it their tests are skipped, and fail on CI."""
    found = shutil.which("npx")
    if found is None:
        reason = "JavaScript is checked by tsc and Biome, which need npx (Node.js): none was found."
        if os.environ.get("CI"):
            pytest.fail(reason, pytrace=False)
        pytest.skip(reason)
    return found


@pytest.mark.parametrize("project", ["jsconfig.json", "jsconfig.worker.json"])
def test_javascript_types_hold(project: str) -> None:
    run(npx(), "--yes", "-p", TYPESCRIPT, "tsc", "-p", f"tests/{project}")


def test_javascript_and_css_are_clean() -> None:
    """Format and lint, as ``.biome.json`` has it."""
    run(npx(), "--yes", BIOME, "check", "--error-on-warnings", ".")


def test_minified_modules_use_nothing_before_it_is_there(tmp_path: Path) -> None:
    """The minifier joins constants, and has put one that is taken apart before what it is made of:
    of ``const a = f(); const { b } = g(a ? a : c);`` it makes ``const { b } = …, a = f();``."""
    minify = pytest.importorskip("minify", reason="There is no minifier for this machine.")
    for file in javascript_files():
        smaller = tmp_path / file.relative_to(ROOT / "static")
        smaller.parent.mkdir(parents=True, exist_ok=True)
        text = file.read_text(encoding="utf-8")
        smaller.write_text(minify.string("text/javascript", text), encoding="utf-8")
    project = json.loads((ROOT / "tests" / "jsconfig.json").read_text(encoding="utf-8"))
    project["include"] = ["**/*.js"]
    (tmp_path / "tsconfig.json").write_text(json.dumps(project), encoding="utf-8")
    command = [npx(), "--yes", "-p", TYPESCRIPT, "tsc", "-p", str(tmp_path / "tsconfig.json")]
    told = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False).stdout
    assert "error TS" in told, "without their JSDoc their types are lost: it did look"
    # Used before it is declared.
    assert not re.findall(r"^.*error TS2448.*$", told, re.MULTILINE)


# ---- arrows ------------------------------------------------------------------------------------


def python_files() -> list[Path]:
    return sorted(file for file in (ROOT / "benchapp").rglob("*.py"))


def javascript_files() -> list[Path]:
    return sorted((ROOT / "static").rglob("*.js"))


def room(path: Path, top: Path) -> str:
    """The first step of the way from ``top``: a folder, or a file at the top itself."""
    first = path.relative_to(top).parts[0]
    return first.removesuffix(".py")


def python_imports(file: Path) -> Iterator[str]:
    """Rooms of the app that a file imports, at its head or inside a function."""
    package = list(file.relative_to(ROOT).parent.parts)
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        named: list[list[str]] = []
        if isinstance(node, ast.Import):
            named = [alias.name.split(".") for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            base += node.module.split(".") if node.module else []
            named = [[*base, alias.name] for alias in node.names]
        for parts in named:
            if parts[0] == "benchapp" and len(parts) > 1 and not parts[1].startswith("__version"):
                yield parts[1]


@pytest.mark.parametrize("file", python_files(), ids=lambda file: str(file.relative_to(ROOT)))
def test_python_arrows_point_down(file: Path) -> None:
    here = room(file, ROOT / "benchapp")
    if here == "__init__":
        allowed: set[str] = set()
    else:
        assert here in PYTHON_ARROWS, f"{here} is not a room of the house: give it its arrows here"
        allowed = PYTHON_ARROWS[here] | {here}
    assert set(python_imports(file)) <= allowed


def javascript_imports(file: Path) -> Iterator[str]:
    """The relative paths that a module imports or re-exports, in code or in a type."""
    text = file.read_text(encoding="utf-8")
    yield from re.findall(
        r"""(?:[}\w*]\s+from\s+|^import\s+|\bimport\(\s*)["']([^"'\n]+)["']""", text, re.MULTILINE
    )


@pytest.mark.parametrize("file", javascript_files(), ids=lambda file: str(file.relative_to(ROOT)))
def test_javascript_arrows_point_down(file: Path) -> None:
    here = room(file, ROOT / "static")
    assert here in JAVASCRIPT_ARROWS, f"{here} is not a room of the house: give it its arrows here"
    for path in javascript_imports(file):
        assert path.startswith("."), f"{path} is not a relative path"
        target = (file.parent / path).resolve()
        assert target.suffix == ".js", f"{path} does not end with .js"
        assert target.is_file(), f"{path} is not there"
        there = room(target, ROOT / "static")
        assert there in JAVASCRIPT_ARROWS[here] | {here}, f"{here} must not import {there}"


def test_the_arrows_are_really_read() -> None:
    """A guard for the two tests above: imports that are known to be there are found."""
    formulas, static = ROOT / "benchapp" / "formulas", ROOT / "static"
    assert set(python_imports(formulas / "weigh.py")) == {"formulas", "words"}
    assert "web" in set(python_imports(ROOT / "benchapp" / "commands" / "serve.py"))
    assert set(javascript_imports(static / "formulas" / "units.js")) == {
        *("../words/door.js", "./checks.js", "./rounding.js", "./unit_table.js")
    }


# ---- what lies where ---------------------------------------------------------------------------


def kept_files() -> list[str]:
    git = shutil.which("git")
    if git is None or not (ROOT / ".git").exists():
        pytest.skip("Which files the repository keeps can only be asked of git.")
    listed = subprocess.run(
        [git, "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return [name for name in listed.stdout.split("\0") if name]


def test_the_top_level_holds_the_house_and_nothing_else() -> None:
    for name in kept_files():
        first, _, rest = name.partition("/")
        at_home = first in FOLDERS if rest else first in FILES
        assert at_home or first.startswith("."), f"{name} does not belong at the top"


@pytest.mark.parametrize("what", FORBIDDEN)
def test_nothing_is_written_as_markup_or_run_as_text(what: str) -> None:
    shell = [*(ROOT / "static").rglob("*.js"), *(ROOT / "templates").rglob("*.html")]
    assert shell
    for file in shell:
        for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), 1):
            found = re.search(FORBIDDEN[what], line)
            assert not found, f"{file.relative_to(ROOT)}:{number} uses {what}: {line.strip()}"


def test_no_rule_asks_the_page_what_it_holds() -> None:
    """Each line that comes or goes below such an element has all of it styled anew."""
    rules = "".join(
        file.read_text(encoding="utf-8") for file in (ROOT / "static/look").glob("*.css")
    )
    whole = r"(?:^|[\s,(>])(?:html|:root|body|#screen|\.screen)[^\s{},]*:has\("
    assert re.search(whole, "a,\nbody[data-a]:has(.b) p {")
    assert re.findall(whole, rules) == []


def test_what_is_kept_opens_what_had_come_to_rest() -> None:
    """A record or event that is put in another way than by ``settled.js`` is not seen by who reads
    what is open."""
    for file in (ROOT / "static" / "records").glob("*.js"):
        if file.name in ("settled.js", "database.js"):
            continue
        found = re.search(r"\b(?:records|events)\.put\(", file.read_text(encoding="utf-8"))
        assert not found, f"{file.name}: {found and found[0]}"
