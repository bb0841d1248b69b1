"""A server and a browser for the tests of the page."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from bench_page import ARGUMENTS, CHROMIUM, Server


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    running = Server(tmp_path_factory.mktemp("journal") / "shop.sqlite").start()
    yield running
    running.stop()


@pytest.fixture(scope="session")
def here(server: Server) -> str:
    return server.url


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Chromium; it ends with the module, since its driver holds the event loop of this thread as long as it runs."""
    if not CHROMIUM.exists():
        pytest.skip("Chromium is not at /usr/bin/chromium (apt-get install chromium)")
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with playwright.sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=str(CHROMIUM), args=ARGUMENTS)
        yield running
        running.close()


@pytest.fixture(autouse=True)
def closed_pages(request: pytest.FixtureRequest) -> Iterator[None]:
    """Close what a test opened: a page that goes on ticking slows the next test."""
    yield
    if "browser" in request.fixturenames:
        for context in request.getfixturevalue("browser").contexts:
            context.close()


@pytest.fixture
def said() -> list[str]:
    return []
