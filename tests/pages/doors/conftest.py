"""One shop for the tests of a module, or one of its own where the door is shut or a clock is set."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.pages.doors.shop import Shop, closed, shop_in


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """A shop that the tests of a module share."""
    made = shop_in(tmp_path_factory.mktemp("shop"))
    yield made
    closed(made)


@pytest.fixture
def own_shop(tmp_path) -> Iterator[Shop]:
    """A shop of the test's own."""
    made = shop_in(tmp_path)
    yield made
    closed(made)


@pytest.fixture
def secure_shop(tmp_path) -> Iterator[Shop]:
    """A shop over TLS."""
    made = shop_in(tmp_path, is_secure=True)
    yield made
    closed(made)
