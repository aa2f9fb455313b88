"""A test that is left out is told on a person's machine, and fails in CI."""

import os
from collections.abc import Generator

import pytest

__all__ = ["pytest_make_collect_report", "pytest_runtest_makereport"]

_NOTHING_LEFT_OUT = "CI"


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Let a test that is left out fail in CI: a missing part must be noticed there."""
    report = yield
    if os.environ.get(_NOTHING_LEFT_OUT) and report.skipped and not hasattr(report, "wasxfail"):
        report.outcome, report.longrepr = "failed", f"left out, which CI does not allow: {report.longrepr}"
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """Let a file that is left out fail in CI."""
    report = yield
    if os.environ.get(_NOTHING_LEFT_OUT) and report.skipped:
        report.outcome, report.longrepr = "failed", f"left out, which CI does not allow: {report.longrepr}"
    return report
