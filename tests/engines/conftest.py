"""The other two engines, where they are: where one is missing, its tests are skipped and say so."""

import os
import shutil
from collections.abc import Iterator

import pytest

from tests.engines.engine import Engine
from tests.engines.firefox import Firefox
from tests.engines.push_hop import PushHop, push_hop
from tests.engines.webkit import WebKit


def program(what: str, package: str, *names: str) -> str:
    """The first of these programs; without any the test is skipped, and fails on CI."""
    found = next(filter(None, map(shutil.which, names)), None)
    if found is None:
        reason = (
            f"{what} is not on this machine: no {' or '.join(names)} was found. "
            f"On Debian: apt-get install {package}."
        )
        if os.environ.get("CI"):
            pytest.fail(reason, pytrace=False)
        pytest.skip(reason)
    return found


@pytest.fixture(scope="module")
def hop() -> Iterator[PushHop]:
    with push_hop() as running:
        yield running


@pytest.fixture(scope="module")
def firefox(tmp_path_factory: pytest.TempPathFactory, hop: PushHop) -> Iterator[Firefox]:
    found = program("Firefox", "firefox-esr", "firefox-esr", "firefox")
    running = Firefox(found, tmp_path_factory.mktemp("firefox"), hop.preferences)
    yield running
    running.close()


@pytest.fixture(scope="module")
def webkit(tmp_path_factory: pytest.TempPathFactory) -> Iterator[WebKit]:
    program("A screen for WebKitGTK", "xvfb", "Xvfb")
    found = program("WebKitGTK", "webkit2gtk-driver", "WebKitWebDriver")
    running = WebKit(found, tmp_path_factory.mktemp("webkit"))
    yield running
    running.close()


@pytest.fixture(params=["firefox", "webkit"])
def engine(request: pytest.FixtureRequest) -> Engine:
    found: Engine = request.getfixturevalue(request.param)
    return found
