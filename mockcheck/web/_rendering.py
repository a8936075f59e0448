"""Templates and the two files beside them; every text of a file or a person is escaped."""

from __future__ import annotations

import html
import re
from importlib.resources import files
from typing import Any

from starlette.responses import HTMLResponse, Response

from mockcheck.report._standalone import html_environment
from mockcheck.web.guard import MOST_FILE_BYTES, MOST_REQUEST_BYTES, PAGE_POLICY

_META_POLICY = re.compile(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)">')
_BODY = "<body>\n"
_STATIC = {"desk.css": "text/css", "desk.js": "text/javascript"}


def page(template: str, status: int = 200, **values: Any) -> HTMLResponse:
    """One of our pages."""
    limits = {"most_file": MOST_FILE_BYTES, "most_request": MOST_REQUEST_BYTES}
    text = html_environment("mockcheck.web").get_template(template).render(**limits, **values)
    return HTMLResponse(text, status)


def review_page(document: str, way_back: str) -> HTMLResponse:
    """The page of a review as it is, with a way back to its downloads and its brief.

    The policy that stands in the document holds for the answer as well, so that nothing but its
    own style and script is ever used.
    """
    found = _META_POLICY.search(document)
    policy = f"{html.unescape(found[1])}; frame-ancestors 'none'" if found else PAGE_POLICY
    link = f'<p><a href="{html.escape(way_back)}">Back: correct the tracks, take files away</a></p>'
    text = document.replace(_BODY, f"{_BODY}{link}\n", 1)
    return HTMLResponse(text, headers={"content-security-policy": policy})


def static_file(name: str) -> Response | None:
    """The style sheet or the script; None for any other name."""
    if name not in _STATIC:
        return None
    return Response(
        (files("mockcheck.web") / "static" / name).read_bytes(), media_type=_STATIC[name]
    )
