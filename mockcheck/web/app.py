"""The pages: choose files, watch them being reviewed, correct the brief, take files away."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from itertools import groupby
from pathlib import PureWindowsPath
from typing import Any
from urllib.parse import quote

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from mockcheck.config import session_from_brief
from mockcheck.config.chain import EXTENDS
from mockcheck.errors import BadBrief
from mockcheck.model.words import printable, shortened
from mockcheck.web import _rendering
from mockcheck.web.brief_file import to_toml
from mockcheck.web.brief_form import (
    in_form_words,
    session_fields,
    session_time_fields,
    track_fields,
    values_from,
)
from mockcheck.web.desk import Desk, Job
from mockcheck.web.guard import MOST_FILE_BYTES, MOST_REQUEST_BYTES, REQUEST_SECONDS, Guard

MOST_FILES = 20
_MOST_FIELDS = 20_000
_MOST_BRIEF_BYTES = 1_000_000
_LONGEST_NAME = 120
_MB = 1_000_000
_TOO_LARGE = (
    f"That is too much at once: {MOST_FILE_BYTES // _MB} MB a file and"
    f" {MOST_REQUEST_BYTES // _MB} MB together are the most."
)
_REFUSALS = {
    404: "There is nothing here. Reviews are kept only until the page is stopped.",
    405: "This address does not take that kind of request.",
    413: _TOO_LARGE,
}


def make_app(desk: Desk, port: int, *, request_seconds: float = REQUEST_SECONDS) -> ASGIApp:
    """The local page behind its guard.

    Parameters
    ----------
    desk
        Where reviews are made and kept; whoever made it closes it.
    port
        Where the page will be; requests that name another host or port are refused.
    request_seconds
        How long one request may take.
    """
    pages = _Pages(desk)
    app = Starlette(
        routes=[
            Route("/", pages.start),
            Route("/reviews", pages.list_reviews, methods=["GET"]),
            Route("/reviews", pages.take_files, methods=["POST"]),
            Route("/reviews/{id}", pages.show),
            Route("/reviews/{id}/state", pages.state),
            Route("/reviews/{id}/page", pages.review_page),
            Route("/reviews/{id}/files/{number:int}", pages.download),
            Route("/reviews/{id}/brief", pages.brief, methods=["GET"]),
            Route("/reviews/{id}/brief", pages.correct, methods=["POST"]),
            Route("/static/{name}", _static),
        ],
        exception_handlers={HTTPException: _refuse, Exception: _own_fault},
    )
    return Guard(app, port, request_seconds=request_seconds)


class _Pages:
    """The pages over one desk."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk

    def start(self, _: Request) -> Response:
        return _start_page(self._desk)

    def list_reviews(self, _: Request) -> Response:
        jobs = [(job, _state_words(job)) for job in self._desk.jobs()]
        return _rendering.page("reviews.html.j2", jobs=jobs)

    async def take_files(self, request: Request) -> Response:
        async with request.form(max_files=MOST_FILES + 1, max_fields=_MOST_FIELDS) as form:
            mockups = [upload for upload in _uploads(form, "mockups") if upload.filename]
            briefs = [upload for upload in _uploads(form, "brief") if upload.filename]
            answers = _answers(form)
            try:
                values = await _uploaded_brief(briefs)
                values |= values_from(answers, (), values)
                session_from_brief(values, "brief")
                if not mockups:
                    message = "No file was chosen. Choose one MIDI file or several."
                    raise BadBrief(message)
                contents = [await _content(upload) for upload in mockups]
            except BadBrief as error:
                return _start_page(self._desk, answers, str(error), 422)
        jobs = [
            await run_in_threadpool(self._desk.take, _shown_name(upload), content, values)
            for upload, content in zip(mockups, contents, strict=True)
        ]
        return _to(f"/reviews/{jobs[0].id}" if len(jobs) == 1 else "/reviews")

    def show(self, request: Request) -> Response:
        job = self._job(request)
        words = _state_words(job)
        numbered = list(enumerate(job.downloads))
        kinds = [(kind, list(own)) for kind, own in groupby(numbered, lambda d: d[1]["purpose"])]
        return _rendering.page(
            "review.html.j2", job=job, words=words, answer=job.answer, kinds=kinds
        )

    def state(self, request: Request) -> Response:
        job = self._job(request)
        return JSONResponse({"is_over": job.is_over, "words": _state_words(job)})

    def review_page(self, request: Request) -> Response:
        job = self._job(request)
        if job.page_number is None:
            raise HTTPException(404)
        document = job.download(job.page_number)[1].decode("utf-8")
        return _rendering.review_page(document, f"/reviews/{job.id}")

    def download(self, request: Request) -> Response:
        try:
            name, content = self._job(request).download(request.path_params["number"])
        except (IndexError, OSError):
            raise HTTPException(404) from None
        return _attachment(name, content)

    def brief(self, request: Request) -> Response:
        return _brief_page(self._job(request))

    async def correct(self, request: Request) -> Response:
        job = self._job(request)
        async with request.form(max_files=0, max_fields=_MOST_FIELDS) as form:
            answers = _answers(form)
        values = values_from(answers, job.rows, job.brief)
        try:
            session_from_brief(values, "brief")
        except BadBrief as error:
            return _brief_page(job, answers, in_form_words(str(error), values), 422)
        if answers.get("do") == "save":
            text = to_toml(values, f"Brief for {job.name}")
            return _attachment("session.toml", text.encode("utf-8"))
        again = await run_in_threadpool(self._desk.take, job.name, job.content, values)
        return _to(f"/reviews/{again.id}")

    def _job(self, request: Request) -> Job:
        job = self._desk.find(request.path_params["id"])
        if job is None:
            raise HTTPException(404)
        return job


def _start_page(
    desk: Desk, answers: Mapping[str, str] | None = None, problem: str = "", status: int = 200
) -> Response:
    fields = session_fields({})
    return _rendering.page(
        "start.html.j2",
        status,
        chief=[field for field in fields if field.name in ("level", "style", "sections")],
        further=[field for field in fields if field.name not in ("level", "style", "sections")],
        answers=answers or {},
        problem=problem,
        most_files=MOST_FILES,
        has_reviews=bool(desk.jobs()),
    )


def _brief_page(
    job: Job, answers: Mapping[str, str] | None = None, problem: str = "", status: int = 200
) -> Response:
    if not job.is_over:
        return _to(f"/reviews/{job.id}")
    parts = sorted({str(row["guess"]["part"]) for row in job.rows if row["guess"]["part"]})
    sounding = [row for row in job.rows if row["notes"]]
    return _rendering.page(
        "brief.html.j2",
        status,
        job=job,
        session=session_fields(job.brief),
        tracks=[track_fields(row, parts) for row in sounding],
        silent=len(job.rows) - len(sounding),
        times=session_time_fields(job.brief),
        answers=answers or {},
        problem=problem,
    )


def _state_words(job: Job) -> str:
    if not job.is_over or job.problem is not None:
        return job.stage
    counts = [(label, number) for label, number in job.answer["counts"].items() if number]
    return ", ".join(f"{number:,} {label}" for label, number in counts) or "nothing found"


def _uploads(form: FormData, name: str) -> list[UploadFile]:
    return [item for item in form.getlist(name) if isinstance(item, UploadFile)]


def _answers(form: FormData) -> dict[str, str]:
    return {name: value for name, value in form.multi_items() if isinstance(value, str)}


async def _content(upload: UploadFile) -> bytes:
    content = await upload.read(MOST_FILE_BYTES + 1)
    if len(content) > MOST_FILE_BYTES:
        raise HTTPException(413)
    return content


async def _uploaded_brief(uploads: list[UploadFile]) -> dict[str, Any]:
    """The values of a brief that was sent, none if there was none; BadBrief if it is no TOML."""
    values: dict[str, Any] = {}
    for upload in uploads:
        name = _shown_name(upload)
        content = await upload.read(_MOST_BRIEF_BYTES + 1)
        if len(content) > _MOST_BRIEF_BYTES:
            message = f"{name}: this is too long for a brief. Give the TOML file."
            raise BadBrief(message)
        try:
            said = tomllib.loads(content.decode("utf-8"))
        except UnicodeDecodeError:
            message = f"{name}: the brief cannot be read. Give a text file in UTF-8."
            raise BadBrief(message) from None
        except tomllib.TOMLDecodeError as error:
            message = f"{name}: this is not TOML: {error}. Correct that line and try again."
            raise BadBrief(message) from None
        if EXTENDS in said:
            # Whoever sends a brief is not to choose which files of this machine are read.
            message = (
                f"{name}: this brief extends {printable(str(said[EXTENDS]))}, and the page reads no"
                " other file. Copy what that file says into this one and take the line `extends ="
                " ...` out, or use `mockcheck review --brief`."
            )
            raise BadBrief(message)
        values |= said
    return values


def _shown_name(upload: UploadFile) -> str:
    """The name of a file without folders of any system; it is only ever shown."""
    name = printable(PureWindowsPath(upload.filename or "").name)
    return shortened(name, _LONGEST_NAME) or "unnamed"


def _attachment(name: str, content: bytes) -> Response:
    disposition = f"attachment; filename*=UTF-8''{quote(name)}"
    return Response(
        content,
        media_type="application/octet-stream",
        headers={"content-disposition": disposition},
    )


def _to(address: str) -> Response:
    return RedirectResponse(address, status_code=303)


def _static(request: Request) -> Response:
    found = _rendering.static_file(request.path_params["name"])
    if found is None:
        raise HTTPException(404)
    return found


def _refuse(_: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    text = _REFUSALS.get(error.status_code, f"{error.detail}")
    return _rendering.page("refusal.html.j2", error.status_code, text=text)


def _own_fault(_: Request, error: Exception) -> Response:
    text = (
        f"This is a fault of mockcheck ({type(error).__name__}), not of your file. The page goes"
        " on; please report what you did."
    )
    return _rendering.page("refusal.html.j2", 500, text=text)
