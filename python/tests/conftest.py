import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests/cluster"))


@pytest.fixture
def small():
    """The maker of small invented fields."""
    import small_fields

    return small_fields
