"""A real browser for tests of pages: Debian's Chromium, driven by playwright."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

sync_api = pytest.importorskip("playwright.sync_api")

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
needs_chromium = pytest.mark.skipif(CHROMIUM is None, reason="no chromium on this machine")


@contextmanager
def open_browser() -> Iterator[Any]:
    """A browser without a window, closed at the end."""
    with sync_api.sync_playwright() as started:
        opened = started.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"]
        )
        yield opened
        opened.close()
