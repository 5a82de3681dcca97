"""The painted pair, laid out once for all tests of the sheets."""

import pytest
from painted import painted_flats, painted_layout, painted_reading

from seamlight.grain.reading import Reading
from seamlight.layout.opening import Layout
from seamlight.photo.flat import FlatLeaf


@pytest.fixture(scope="session")
def layout() -> Layout:
    return painted_layout()


@pytest.fixture(scope="session")
def flats() -> tuple[FlatLeaf, FlatLeaf]:
    return painted_flats()


@pytest.fixture(scope="session")
def reading() -> Reading:
    return painted_reading()
