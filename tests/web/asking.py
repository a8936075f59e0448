"""A browser's part in tests of the page: sends files, waits for reviews, reads HTML as text."""

from __future__ import annotations

import io
import time
from collections.abc import Iterator, Mapping, Sequence
from html.parser import HTMLParser

import mido
from starlette.testclient import TestClient

from mockcheck.web.app import make_app
from mockcheck.web.desk import Desk

PORT = 8765
HOME = f"http://127.0.0.1:{PORT}"
TOO_LONG_S = 120.0


class Page(HTMLParser):
    """Tags with their attributes, and the text outside them, as a browser takes them."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text += data

    def all(self, tag: str) -> Iterator[dict[str, str | None]]:
        return (attributes for name, attributes in self.tags if name == tag)

    def answers(self) -> dict[str, str]:
        """What a browser sends when the form is left as it is."""
        sent: dict[str, str] = {}
        name = ""
        for tag, attributes in self.tags:
            if tag == "select":
                name = attributes["name"] or ""
                sent[name] = ""
            elif tag == "option" and "selected" in attributes:
                sent[name] = attributes["value"] or ""
            elif tag == "input" and attributes.get("type") != "file":
                sent[attributes["name"] or ""] = attributes.get("value") or ""
        return sent


def client_of(desk: Desk, **options: float) -> TestClient:
    app = make_app(desk, PORT, **options)
    return TestClient(app, base_url=HOME, headers={"origin": HOME}, raise_server_exceptions=False)


def send(
    client: TestClient,
    *files: tuple[str, bytes],
    brief: bytes | None = None,
    answers: Mapping[str, str] | None = None,
) -> str:
    """Upload files and return the address that the browser is sent to."""
    parts = [("mockups", (name, content)) for name, content in files]
    if brief is not None:
        parts.append(("brief", ("session.toml", brief)))
    reply = client.post("/reviews", files=parts, data=answers, follow_redirects=False)
    assert reply.status_code == 303, reply.text
    return str(reply.headers["location"])


def wait_for(client: TestClient, address: str) -> Page:
    """The page of a review once it is over."""
    last = time.monotonic() + TOO_LONG_S
    while not client.get(f"{address}/state").json()["is_over"]:
        assert time.monotonic() < last, "the review is not over"
        time.sleep(0.1)
    return Page(client.get(address).text)


def take(client: TestClient, address: str, ending: str) -> bytes:
    """The content of the download whose name ends so."""
    page = Page(client.get(address).text)
    links = [link["href"] for link in page.all("a") if "download" in link]
    for link in links:
        reply = client.get(link or "")
        if str(reply.headers["content-disposition"]).endswith(ending):
            return bytes(reply.content)
    raise AssertionError(ending)


def named_tracks(names: Sequence[str], pitch: int = 60, program: int = 40) -> bytes:
    """A file with a track of one note for each name."""
    file = mido.MidiFile(charset="utf-8")
    for name in names:
        track = mido.MidiTrack([mido.MetaMessage("track_name", name=name)])
        track.append(mido.Message("program_change", program=program))
        track.append(mido.Message("note_on", note=pitch, velocity=80))
        track.append(mido.Message("note_off", note=pitch, time=480))
        file.tracks.append(track)
    buffer = io.BytesIO()
    file.save(file=buffer)
    return buffer.getvalue()
