"""The pages of a small mill: opened once to be read, opened afresh to be written to."""

from __future__ import annotations

import os
import shutil
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Browser, sync_playwright
from starlette.applications import Starlette
from starlette.testclient import TestClient

from canewright.accounts.books import Books
from canewright.store import Store
from canewright.web.app import create_app
from web.mill_plant import fill, now, plant

HOST = "http://127.0.0.1"
PERSON = "shift analyst"
CHROMIUM = os.environ.get("CANEWRIGHT_CHROMIUM", "/usr/bin/chromium")
SWITCHES = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]


@pytest.fixture(scope="session")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a business that no test writes to."""
    folder = tmp_path_factory.mktemp("business")
    with Store.open(folder, now=now) as store:
        fill(store)
    return folder


@pytest.fixture(scope="session")
def read_books(filled: Path) -> Iterator[Books]:
    """Books that no test writes to."""
    with Store.open(filled, now=now) as store:
        yield Books(plant(), store)


@pytest.fixture(scope="session")
def pages(read_books: Books) -> TestClient:
    """The pages over books that no test writes to."""
    return TestClient(create_app(read_books, now=now, person=PERSON), base_url=HOST)


@pytest.fixture
def books(filled: Path, tmp_path: Path) -> Iterator[Books]:
    """Books of a test's own."""
    folder = shutil.copytree(filled, tmp_path / "business")
    with Store.open(folder, now=now) as store:
        yield Books(plant(), store)


@pytest.fixture
def desk(books: Books) -> TestClient:
    """The pages over books of a test's own; posts come from a page of this server."""
    app = create_app(books, now=now, person=PERSON)
    return TestClient(app, base_url=HOST, headers={"origin": HOST}, follow_redirects=False)


@contextmanager
def serving(app: Starlette) -> Iterator[str]:
    """The address of these pages while a server of this machine gives them, on a free port."""
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=0, log_level="warning", ws="none"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    until = time.monotonic() + 20
    while not server.started and time.monotonic() < until:
        time.sleep(0.02)
    yield f"http://127.0.0.1:{server.servers[0].sockets[0].getsockname()[1]}"
    server.should_exit = True
    thread.join(20)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One browser for all tests."""
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=CHROMIUM, args=SWITCHES)
        yield started
        started.close()
