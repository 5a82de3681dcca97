"""Where the tests find data made by others, and what happens when it is not there."""

import os
from collections.abc import Generator
from pathlib import Path

import pytest

SHARED = Path(__file__).resolve().parents[1] / ".." / "shared"


@pytest.fixture(scope="session")
def shared_data() -> Path:
    """The folder of pictures and sounds made by others; skips where it is absent, fails under CI."""
    folder = (SHARED / "data").resolve()
    if not folder.is_dir():
        reason = "needs the folder ../shared/data with published pictures, absent here"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    return folder


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Under CI a skipped test is a failed test."""
    report = yield
    if os.environ.get("CI") == "true" and report.skipped:
        report.outcome = "failed"
        report.longrepr = f"skipped under CI: {report.longrepr}"
    return report
