"""What every test shares."""

import os
from pathlib import Path

import pytest

CHECKS_DIR = Path(os.environ.get("CHECKS_DIR", Path(__file__).parent.parent.parent / "shared" / "checks"))


@pytest.fixture(scope="session")
def checks() -> Path:
    """The folder of published check data; absent outside the workshop, where these tests skip."""
    if CHECKS_DIR.is_dir():
        return CHECKS_DIR
    if os.environ.get("CI") == "true":
        pytest.fail(f"CHECKS_DIR ({CHECKS_DIR}) holds no published check data")
    pytest.skip("no published check data here: set CHECKS_DIR")
