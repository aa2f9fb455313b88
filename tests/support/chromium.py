"""Debian's Chromium for browser tests."""

import os
import shutil

import pytest

__all__ = ["chromium_path"]


def chromium_path() -> str:
    """Return where Chromium is; without it skip, in CI fail."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        if os.environ.get("CI"):
            pytest.fail("chromium is not installed")
        pytest.skip("chromium is not installed")
    return found
