"""An empty business for each test."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from canewright.store import Store
from store.samples import Clock


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """A new business in the test's own folder."""
    with Store.create(tmp_path, now=Clock()) as opened:
        yield opened
