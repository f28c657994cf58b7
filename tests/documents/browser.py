"""The job pack in a real browser: this machine's own Chromium, without a window, drawing in software."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

_NAMES = ("chromium", "chromium-browser", "google-chrome-stable", "google-chrome", "chrome")
_ARGUMENTS = [
    "--no-sandbox",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
DESKTOP: dict[str, Any] = {"viewport": {"width": 1400, "height": 900}}
PHONE: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844},
    "device_scale_factor": 2,
    "has_touch": True,
    "is_mobile": True,
}


@contextmanager
def chromium() -> Iterator[Any]:
    """A browser; the test is skipped where there is none."""
    api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    program = next((found for name in _NAMES if (found := shutil.which(name))), None)
    if program is None:
        pytest.skip("no Chromium on this machine")
    with api.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=program, args=_ARGUMENTS)
        yield browser
        browser.close()


@contextmanager
def opened(browser: Any, file: Path, look: dict[str, Any]) -> Iterator[Any]:
    """The page, ready to be used; ends in a failure if it complained or asked for anything outside."""
    context = browser.new_context(**look, accept_downloads=True)
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(f"{message.type}: {message.text}"))
    page.on("pageerror", lambda error: said.append(f"error: {error}"))
    page.on(
        "request", lambda request: said.append(f"asked for {request.url}") if outside(request.url) else None
    )
    page.on("dialog", lambda dialog: said.append(f"dialog: {dialog.message}"))
    page.goto(file.as_uri())
    page.wait_for_selector("#viewer[data-ready=yes]")
    yield page
    context.close()
    assert said == []


def outside(url: str) -> bool:
    """Whether an address is another one than the file itself, or data in it."""
    return url.split(":", 1)[0] not in {"file", "data", "blob"}
