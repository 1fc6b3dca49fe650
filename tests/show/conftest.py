"""Shared by the tests of drawings and sheets: the sample records, and Debian's Chromium."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

CHROMIUM = Path("/usr/bin/chromium")


@pytest.fixture(scope="session")
def sample() -> ModuleType:
    """The invented records and answers of sample.py."""
    spec = importlib.util.spec_from_file_location(
        "show_sample", Path(__file__).with_name("sample.py")
    )
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    """Chromium as Debian ships it, quiet."""
    if not CHROMIUM.exists():
        pytest.fail("These tests need Chromium: apt-get install chromium")
    flags = [
        "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
        "--disable-background-networking", "--disable-component-update", "--disable-sync",
    ]  # fmt: skip
    return {**browser_type_launch_args, "executable_path": str(CHROMIUM), "args": flags}


@pytest.fixture(scope="session", params=["fits", "side", "close", "no"])
def case(request: pytest.FixtureRequest, sample: ModuleType) -> tuple[Any, Any, Any]:
    """Answer, van and rider for every verdict and both entries."""
    rider = sample.rider()
    return {
        "fits": (sample.fits(), sample.van(), rider),
        "side": (
            sample.fits(side_entry=True, deciding="drive.in"), sample.van(side_entry=True), rider,
        ),
        "close": (sample.close_call(), sample.van(), rider),
        "no": (sample.does_not_fit(), sample.van(side_entry=True), rider),
    }[request.param]  # fmt: skip
