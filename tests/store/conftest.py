"""What the tests of the store share."""

import pytest

from sillway.store.by import By
from sillway.store.pack import Content
from sillway.store.records import create_record
from workbench_help import demo

ANA = By("Ana", "page", 1)


@pytest.fixture
def van(db):
    """The number of a whole van."""
    return create_record("van", Content(demo("van"), {"stage": "checking"}), ANA).record


@pytest.fixture
def rider(db):
    """The number of a whole rider."""
    card = {"phone": "(555) 010-7788", "email": "someone@example.org"}
    return create_record("rider", Content(demo("rider"), card), ANA).record
