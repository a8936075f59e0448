import json
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest
from click.testing import CliRunner

from mockcheck.cli import serve
from mockcheck.errors import BadBrief
from tests.phrases import midi_bytes
from tests.web.running import running_page

CUE = midi_bytes("Violin 1 4/4 q=100 | A4:2 F3:2 |")
BOUNDARY = "cut-here"


def ask(address: str, data: bytes | None = None, **headers: str) -> tuple[int, str, str]:
    """Status, address after redirects, and text."""
    request = urllib.request.Request(address, data=data, headers=headers)
    try:
        with urllib.request.urlopen(request, timeout=30) as reply:
            return reply.status, reply.url, reply.read().decode()
    except urllib.error.HTTPError as error:
        with error:
            return error.code, error.url or "", error.read().decode()


def upload(home: str, name: str, content: bytes) -> tuple[int, str, str]:
    head = f'Content-Disposition: form-data; name="mockups"; filename="{name}"'
    body = f"--{BOUNDARY}\r\n{head}\r\n\r\n".encode() + content + f"\r\n--{BOUNDARY}--\r\n".encode()
    kind = f"multipart/form-data; boundary={BOUNDARY}"
    headers = {"Content-Type": kind, "Origin": home.rstrip("/")}
    return ask(f"{home}reviews", body, **headers)


def test_the_page_is_up_reviews_a_file_and_goes_when_stopped() -> None:
    with running_page() as (home, process):
        assert ask(home)[0] == 200
        status, address, _ = upload(home, "cue.mid", CUE)
        assert status == 200
        last = time.monotonic() + 60
        while not (state := json.loads(ask(f"{address}/state")[2]))["is_over"]:
            assert time.monotonic() < last
            time.sleep(0.2)
        assert state["words"] == "1 impossible"
        assert "F3" in ask(f"{address}/page")[2]
        assert ask(home, Host="evil.example")[0] == 403
        assert ask(f"{home}reviews", b"", Origin="http://evil.example")[0] == 403
    assert process.returncode == 0
    with pytest.raises(urllib.error.URLError):
        ask(home)


def test_too_large_an_upload_is_answered_and_the_page_goes_on() -> None:
    with running_page() as (home, _):
        status, _, text = upload(home, "big.mid", bytes(60_000_000))
        assert status == 413
        assert "50 MB together" in text
        assert ask(home)[0] == 200


def test_a_port_in_use_is_told() -> None:
    with running_page() as (home, _):
        port = home.rstrip("/").rpartition(":")[2]
        result = CliRunner().invoke(serve.command, ["--port", port])
        assert isinstance(result.exception, BadBrief)
        assert f"--port {port}: it cannot be used" in str(result.exception)


def test_without_the_extra_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(serve, "find_spec", lambda name: None if name == "uvicorn" else Path())
    result = CliRunner().invoke(serve.command, [])
    assert isinstance(result.exception, BadBrief)
    assert "the page needs uvicorn" in str(result.exception)
    assert "pip install 'mockcheck[serve]'" in str(result.exception)
