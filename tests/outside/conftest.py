"""Fixtures that the outside checks share."""

import pytest
from program import Tablet


@pytest.fixture(scope="session")
def tablet(tmp_path_factory):
    return Tablet(tmp_path_factory.mktemp("tablet"))
