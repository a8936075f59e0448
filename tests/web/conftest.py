from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from mockcheck.web.desk import Desk
from tests.web.asking import client_of


@pytest.fixture(scope="module")
def desk() -> Iterator[Desk]:
    desk = Desk(at_once=2)
    yield desk
    desk.close()


@pytest.fixture(scope="module")
def client(desk: Desk) -> TestClient:
    return client_of(desk)
