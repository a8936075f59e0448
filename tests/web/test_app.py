import io
import json
import threading
import tomllib
import zipfile
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from mockcheck.errors import UserError
from mockcheck.pipeline import review
from mockcheck.web import _worker
from mockcheck.web import app as app_module
from mockcheck.web.app import MOST_FILES
from mockcheck.web.desk import Desk
from tests.phrases import midi_bytes
from tests.web.asking import Page, client_of, named_tracks, send, take, wait_for

QUIRKS = Path(__file__).parent.parent.parent / "fixtures" / "quirks"
# F3 lies below the violin and on the viola.
FAULTY = midi_bytes("Violin 1 4/4 q=100 | A4:2 F3:2 |", "Cello 4/4 | C3:4 |")
CLEAN = midi_bytes("Violin 1 4/4 q=100 | A4:2 B4:2 |")


@pytest.fixture(scope="module")
def reviewed(client: TestClient) -> str:
    """The address of a review of the faulty file."""
    address = send(client, ("faulty.mid", FAULTY))
    wait_for(client, address)
    return address


def found(client: TestClient, address: str) -> list[str]:
    document = json.loads(take(client, address, ".review.json"))
    return [finding["check"] for finding in document["findings"]]


def test_a_file_is_reviewed_and_its_page_shown(client: TestClient, reviewed: str) -> None:
    page = Page(client.get(reviewed).text)
    assert "Not ready: one impossible place in Violin 1, bar 1, resting on a guess." in page.text
    document = client.get(f"{reviewed}/page").text
    assert "F3" in document
    assert f'href="{reviewed}"' in document
    assert "note-below-open-string" in found(client, reviewed)
    assert client.get(f"{reviewed}/state").json() == {"is_over": True, "words": "1 impossible"}


def test_the_review_is_served_under_its_own_policy(client: TestClient, reviewed: str) -> None:
    reply = client.get(f"{reviewed}/page")
    policy = reply.headers["content-security-policy"]
    assert "script-src 'sha256-" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy


def test_the_page_that_is_taken_away_has_no_way_back(client: TestClient, reviewed: str) -> None:
    assert reviewed not in take(client, reviewed, ".review.html").decode()


def test_everything_can_be_taken_away_at_once(client: TestClient, reviewed: str) -> None:
    archive = zipfile.ZipFile(io.BytesIO(take(client, reviewed, "faulty.zip")))
    assert archive.testzip() is None
    assert {"faulty.markers.mid", "faulty.players-copy.mid", "faulty.musicxml"} <= set(
        archive.namelist()
    )
    assert archive.read("faulty.review.json") == take(client, reviewed, ".review.json")


def test_a_corrected_track_changes_the_review(client: TestClient, reviewed: str) -> None:
    answers = Page(client.get(f"{reviewed}/brief").text).answers()
    answers |= {"tracks.1.instrument": "viola", "tracks.1.part": "Viola", "do": "review"}
    reply = client.post(f"{reviewed}/brief", data=answers, follow_redirects=False)
    assert reply.status_code == 303
    again = str(reply.headers["location"])
    assert again != reviewed
    assert "Viola (viola)" in wait_for(client, again).text
    assert "note-below-open-string" not in found(client, again)
    assert "note-below-open-string" in found(client, reviewed)
    # The form goes on from there.
    assert Page(client.get(f"{again}/brief").text).answers()["tracks.1.instrument"] == "viola"


def test_the_saved_brief_gives_the_same_review_on_the_command_line(
    client: TestClient, reviewed: str, tmp_path: Path
) -> None:
    answers = Page(client.get(f"{reviewed}/brief").text).answers()
    answers |= {"tracks.1.instrument": "viola", "level": "solo", "tracks.2.players": "6"}
    saved = client.post(f"{reviewed}/brief", data=answers | {"do": "save"})
    assert saved.headers["content-disposition"].startswith("attachment")
    assert tomllib.loads(saved.text)["tracks"][0] == {"match": "Violin 1", "instrument": "viola"}
    (tmp_path / "session.toml").write_bytes(saved.content)
    (tmp_path / "faulty.mid").write_bytes(FAULTY)
    expected = review(tmp_path / "faulty.mid", tmp_path / "session.toml").to_dict()
    reply = client.post(f"{reviewed}/brief", data=answers, follow_redirects=False)
    again = str(reply.headers["location"])
    wait_for(client, again)
    document = json.loads(take(client, again, ".review.json"))
    assert document["brief"] == expected["brief"]
    assert document["findings"] == expected["findings"]
    assert document["source"] == expected["source"]


def test_an_impossible_answer_is_told_and_nothing_typed_is_lost(
    client: TestClient, reviewed: str
) -> None:
    answers = {"tracks.1.part": "First fiddles", "tracks.2.players": "0", "tempo_bpm": "quick"}
    reply = client.post(f"{reviewed}/brief", data=answers)
    assert reply.status_code == 422
    page = Page(reply.text)
    assert "Track 'Cello', Players: this must be at least 1" in page.text
    assert "'quick'" in page.text
    assert page.answers()["tracks.1.part"] == "First fiddles"
    assert page.answers()["tempo_bpm"] == "quick"


def test_a_brief_sent_along_is_in_force_and_the_form_wins_over_it(client: TestClient) -> None:
    brief = b'level = "solo"\nstyle = "comic"\n[[tracks]]\nmatch = "Vio*"\ninstrument = "viola"\n'
    address = send(client, ("cue.mid", FAULTY), brief=brief, answers={"level": "rehearsed"})
    wait_for(client, address)
    document = json.loads(take(client, address, ".review.json"))
    assert document["level"] == "rehearsed"
    assert document["brief"]["style"] == "comic"
    assert document["tracks"][1]["instrument"] == "viola"


@pytest.mark.parametrize(
    ("brief", "words"),
    [
        (b"level = ", "this is not TOML"),
        (b"\xff\xfe", "UTF-8"),
        (b'level = "asleep"', "level"),
        (b"colour = 1", "no such key"),
    ],
)
def test_a_wrong_brief_is_told_before_anything_is_reviewed(
    client: TestClient, brief: bytes, words: str
) -> None:
    parts = [("mockups", ("cue.mid", CLEAN)), ("brief", ("session.toml", brief))]
    reply = client.post("/reviews", files=parts)
    assert reply.status_code == 422
    assert words in Page(reply.text).text


def test_a_brief_that_is_sent_reads_no_file_of_this_machine(
    client: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    secret = tmp_path / "secret.toml"
    secret.write_text('level = "solo"\nhidden = "the words of a file"\n')
    monkeypatch.chdir(tmp_path)
    for path in (secret.as_posix(), "secret.toml", "none.toml", "../" * 20 + "etc/passwd"):
        brief = f'extends = "{path}"\n'.encode()
        parts = [("mockups", ("cue.mid", CLEAN)), ("brief", ("session.toml", brief))]
        reply = client.post("/reviews", files=parts)
        assert reply.status_code == 422
        page = Page(reply.text)
        assert f"session.toml: this brief extends {path}, and the page reads no other" in page.text
        assert "hidden" not in page.text
        assert "not there" not in page.text


def test_a_level_that_the_brief_names_can_be_chosen_and_is_kept(client: TestClient) -> None:
    brief = (
        b'level = "school"\n[levels.school]\nlike = "rehearsed"\ntempo_share = 0.5\n'
        b'[levels.other]\nlike = "solo"\n'
    )
    address = send(client, ("cue.mid", FAULTY), brief=brief)
    wait_for(client, address)
    answers = Page(client.get(f"{address}/brief").text).answers()
    assert answers["level"] == "school"
    reply = client.post(f"{address}/brief", data=answers | {"level": "other"})
    assert reply.status_code == 200
    saved = client.post(f"{address}/brief", data=answers | {"do": "save"})
    assert tomllib.loads(saved.text)["levels"]["school"] == {
        "like": "rehearsed",
        "tempo_share": 0.5,
    }
    document = json.loads(take(client, address, ".review.json"))
    assert (document["level"], document["level_name"]) == ("rehearsed", "school")


def test_a_brief_that_does_not_fit_the_file_can_be_put_right(client: TestClient) -> None:
    address = send(client, ("cue.mid", CLEAN), brief=b'[[tracks]]\nmatch = "Oboe"\n')
    assert "no track matches 'Oboe'" in wait_for(client, address).text
    answers = Page(client.get(f"{address}/brief").text).answers()
    reply = client.post(f"{address}/brief", data=answers, follow_redirects=False)
    assert "Ready: nothing" in wait_for(client, str(reply.headers["location"])).text


def test_without_a_file_the_page_says_so(client: TestClient) -> None:
    reply = client.post("/reviews", files=[("mockups", ("", b""))])
    assert reply.status_code == 422
    assert "No file was chosen" in Page(reply.text).text


HOSTILE = [
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "</title><svg onload=alert(1)>",
    "{{ 7 * 7 }} {% raw %}",
    "' onfocus='alert(1)",
    "Violin\u202e 1\x07\x1b[2J",
]
EVENT_HANDLERS = ("onerror", "onload", "onfocus", "onclick")


def test_track_names_are_shown_and_never_obeyed(client: TestClient) -> None:
    content = named_tracks(HOSTILE)
    address = send(client, ("<script>alert(2).mid", content))
    wait_for(client, address)
    for part in ("", "/brief", "/page"):
        text = client.get(address + part).text
        page = Page(text)
        assert "<script>alert(1)</script>" in page.text or part == "/page"
        assert not [t for t, given in page.tags if set(EVENT_HANDLERS) & set(given)]
        assert not [src for src in page.all("img") if src.get("src") == "x"]
        scripts = list(page.all("script"))
        assert len(scripts) == 1
        assert "<script>alert" not in text
        assert "\x07" not in text
        assert "\x1b" not in text
        assert "\u202e" not in text
    listed = Page(client.get("/reviews").text)
    assert "<script>alert(2).mid" in listed.text
    assert len(list(listed.all("script"))) == 1


PATHS = [
    "../../../etc/passwd.mid",
    "/etc/evil.mid",
    "..\\..\\evil.mid",
    "C:\\Windows\\evil.mid",
    "C:evil.mid",
    "..",
    "mockup.mid/../../evil.mid",
    "a\x00b.mid",
    "évil \U0001f3bb.mid",
    "x" * 300 + ".mid",
]


def test_no_name_of_a_file_reaches_the_disk(client: TestClient, desk: Desk) -> None:
    before = {job.id for job in desk.jobs()}
    send(client, *((name, CLEAN) for name in PATHS))
    jobs = [job for job in desk.jobs() if job.id not in before]
    assert len(jobs) == len(PATHS)
    # The latest come first, so the first of these are reviewed first.
    for job in jobs[-3:]:
        assert "Ready: nothing" in wait_for(client, f"/reviews/{job.id}").text
    for job in jobs:
        assert job.name
        assert not set(job.name) & set("/\\\0")
        kept = {path.name for path in job.folder.iterdir()}
        ours = {"mockup.mid", "request.json", "answer.json", "trouble.txt"}
        assert {name for name in kept if not name.startswith("download-")} <= ours
    # Nothing lies beside the folders of the reviews either.
    assert {path.name for path in jobs[0].folder.parent.iterdir()} == {j.id for j in desk.jobs()}


@pytest.mark.parametrize("name", [*PATHS, 'a"b<c>|*?:.mid', ".hidden", "nul\n.mid"])
def test_the_names_of_downloads_are_legal_everywhere(name: str) -> None:
    stem = _worker._file_stem(name)
    assert stem
    assert not set(stem) & set('/\\:\0\n"<>|*?')
    assert not stem.startswith(".")
    assert len(stem) <= 80


@pytest.mark.parametrize("address", ["/reviews/../etc", "/reviews/none", "/reviews/%2e%2e/state"])
def test_what_is_not_there_is_not_found(client: TestClient, address: str) -> None:
    reply = client.get(address)
    assert reply.status_code == 404
    assert "nothing here" in Page(reply.text).text


@pytest.mark.parametrize("number", ["-1", "99", "0.5", "%2e%2e%2frequest.json"])
def test_only_the_files_of_a_review_can_be_taken(
    client: TestClient, reviewed: str, number: str
) -> None:
    assert client.get(f"{reviewed}/files/{number}").status_code == 404


@pytest.mark.parametrize("name", ["desk.css", "desk.js"])
def test_style_and_script_are_there(client: TestClient, name: str) -> None:
    assert client.get(f"/static/{name}").status_code == 200


@pytest.mark.parametrize("name", ["app.py", "..%2fapp.py", "%2e%2e/app.py", ""])
def test_nothing_else_is_served(client: TestClient, name: str) -> None:
    assert client.get(f"/static/{name}").status_code == 404


@pytest.mark.parametrize("quirk", ["division_zero.mid", "appledouble.mid"])
def test_a_broken_file_gets_the_message_of_the_command_line(client: TestClient, quirk: str) -> None:
    with pytest.raises(UserError) as refused:
        review(QUIRKS / quirk)
    address = send(client, (quirk, (QUIRKS / quirk).read_bytes()))
    assert str(refused.value) in wait_for(client, address).text
    assert client.get(f"{address}/page").status_code == 404


def test_sixty_megabytes_are_refused_and_the_page_goes_on(client: TestClient, desk: Desk) -> None:
    before = len(desk.jobs())
    reply = client.post("/reviews", files=[("mockups", ("big.mid", bytes(60_000_000)))])
    assert reply.status_code == 413
    assert "20 MB a file and 50 MB together" in Page(reply.text).text
    assert len(desk.jobs()) == before
    assert client.get("/").status_code == 200


def test_one_file_over_its_limit_is_refused(client: TestClient) -> None:
    files = [("mockups", ("ok.mid", CLEAN)), ("mockups", ("big.mid", bytes(20_000_001)))]
    assert client.post("/reviews", files=files).status_code == 413


def test_too_many_files_are_refused(client: TestClient) -> None:
    files = [("mockups", (f"{number}.mid", CLEAN)) for number in range(MOST_FILES + 2)]
    assert client.post("/reviews", files=files).status_code == 400


def test_several_files_are_reviewed_each_on_its_own(client: TestClient) -> None:
    broken = (QUIRKS / "division_zero.mid").read_bytes()
    files = [("one.mid", FAULTY), ("two.mid", broken), ("three.mid", CLEAN)]
    assert send(client, *files) == "/reviews"
    links = [link["href"] or "" for link in Page(client.get("/reviews").text).all("a")]
    three, two, one = [link for link in links if link.startswith("/reviews/")][:3]
    assert "one impossible place" in wait_for(client, one).text
    assert "division field" in wait_for(client, two).text
    assert "Ready: nothing" in wait_for(client, three).text


@pytest.mark.slow
def test_ten_uploads_at_once_are_all_reviewed(desk: Desk) -> None:
    verdicts: dict[int, str] = {}

    def upload(number: int) -> None:
        client = client_of(desk)
        content = FAULTY if number % 2 else CLEAN
        address = send(client, (f"cue-{number}.mid", content))
        verdicts[number] = wait_for(client, address).text

    threads = [threading.Thread(target=upload, args=(number,)) for number in range(10)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    for number in range(10):
        assert f"cue-{number}.mid" in verdicts[number]
        assert ("one impossible place" in verdicts[number]) == bool(number % 2)


def test_a_fault_of_ours_is_told_and_the_page_goes_on(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError

    monkeypatch.setattr(app_module, "_start_page", fail)
    reply = client.get("/")
    assert reply.status_code == 500
    assert "fault of mockcheck (RuntimeError)" in Page(reply.text).text
    assert "Traceback" not in reply.text
    assert client.get("/reviews").status_code == 200


def test_every_page_has_landmarks_one_heading_and_a_label_for_each_question(
    client: TestClient, reviewed: str
) -> None:
    for address in ("/", "/reviews", reviewed, f"{reviewed}/brief", "/nothing"):
        page = Page(client.get(address).text)
        tags = [tag for tag, _ in page.tags]
        assert [tags.count(tag) for tag in ("main", "header", "footer", "h1", "title")] == [1] * 5
        assert next(page.all("html"))["lang"] == "en-GB"
        labelled = {label.get("for") for label in page.all("label")}
        ids = [given["id"] for _, given in page.tags if "id" in given]
        assert len(ids) == len(set(ids))
        for tag in ("input", "select"):
            assert {question["id"] for question in page.all(tag)} <= labelled
        for _, given in page.tags:
            assert given.get("aria-describedby") in (None, *ids)
            assert "style" not in given


def test_a_page_that_could_not_be_drawn_is_not_offered(
    client: TestClient, desk: Desk, reviewed: str
) -> None:
    job = desk.find(reviewed.rpartition("/")[2])
    assert job is not None
    whole = job.answer
    job.answer = whole | {"downloads": whole["downloads"][1:], "failed": ["The review as a page"]}
    try:
        text = Page(client.get(reviewed).text).text
        assert "Read the review" not in text
        assert "Could not be made, by a fault of mockcheck:" in text
        assert client.get(f"{reviewed}/page").status_code == 404
    finally:
        job.answer = whole
