import anyio
import pytest
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route
from starlette.testclient import TestClient

from mockcheck.web.guard import PAGE_POLICY, Guard
from tests.web.asking import HOME, PORT

MOST = 1000


async def echo(request: Request) -> Response:
    return PlainTextResponse(f"{len(await request.body())}")


async def slow(_: Request) -> Response:
    await anyio.sleep(30)
    return PlainTextResponse("late")


async def own_policy(_: Request) -> Response:
    return PlainTextResponse("", headers={"content-security-policy": "default-src 'none'"})


@pytest.fixture
def client() -> TestClient:
    routes = [
        Route("/echo", echo, methods=["GET", "POST"]),
        Route("/slow", slow),
        Route("/own", own_policy),
    ]
    app = Guard(Starlette(routes=routes), PORT, request_seconds=0.2, most_bytes=MOST)
    return TestClient(app, base_url=HOME)


@pytest.mark.parametrize("host", [f"127.0.0.1:{PORT}", f"localhost:{PORT}"])
def test_this_machine_is_answered_by_both_its_names(client: TestClient, host: str) -> None:
    assert client.get("/echo", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    [
        "",
        "127.0.0.1",
        "127.0.0.1:80",
        f"evil.example:{PORT}",
        f"127.0.0.1:{PORT}.evil.example",
        f"localhost.:{PORT}",
        f"user@127.0.0.1:{PORT}",
    ],
)
def test_any_other_host_is_refused(client: TestClient, host: str) -> None:
    reply = client.get("/echo", headers={"host": host})
    assert reply.status_code == 403
    assert HOME in reply.text


def test_two_hosts_are_refused(client: TestClient) -> None:
    hosts = [("host", f"127.0.0.1:{PORT}"), ("host", "evil.example")]
    assert client.get("/echo", headers=hosts).status_code == 403


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH"])
@pytest.mark.parametrize(
    "origin", [None, "null", "http://evil.example", f"https://127.0.0.1:{PORT}", "http://127.0.0.1"]
)
def test_nobody_else_may_write(client: TestClient, method: str, origin: str | None) -> None:
    headers = {} if origin is None else {"origin": origin}
    assert client.request(method, "/echo", headers=headers).status_code == 403


def test_the_page_itself_may_write(client: TestClient) -> None:
    reply = client.post("/echo", content=b"x" * MOST, headers={"origin": HOME})
    assert (reply.status_code, reply.text) == (200, str(MOST))


def test_what_is_announced_too_large_is_refused(client: TestClient) -> None:
    reply = client.post("/echo", content=b"x" * (MOST + 1), headers={"origin": HOME})
    assert reply.status_code == 413


def test_what_turns_out_too_large_without_saying_so_is_refused(client: TestClient) -> None:
    pieces = (b"x" * 100 for _ in range(11))
    reply = client.post("/echo", content=pieces, headers={"origin": HOME})
    assert "content-length" not in reply.request.headers
    assert reply.status_code == 413


def test_a_slow_request_is_ended(client: TestClient) -> None:
    reply = client.get("/slow")
    assert reply.status_code == 408
    assert "too long" in reply.text


@pytest.mark.parametrize(
    ("address", "host", "status"),
    [("/echo", None, 200), ("/nothing", None, 404), ("/slow", None, 408), ("/echo", "x", 403)],
)
def test_every_answer_carries_the_headers(
    client: TestClient, address: str, host: str | None, status: int
) -> None:
    reply = client.get(address, headers={} if host is None else {"host": host})
    assert reply.status_code == status
    assert reply.headers["content-security-policy"] == PAGE_POLICY
    assert reply.headers["x-content-type-options"] == "nosniff"
    assert reply.headers["cache-control"] == "no-store"
    assert "unsafe" not in PAGE_POLICY


def test_a_page_may_have_a_policy_of_its_own(client: TestClient) -> None:
    assert client.get("/own").headers["content-security-policy"] == "default-src 'none'"
