"""Pages that need nothing else: their templates, the style and script inside them, their policy."""

from __future__ import annotations

import base64
import hashlib
from functools import cache
from importlib.resources import files
from typing import Any

from markupsafe import Markup


def render_html(template: str, **values: Any) -> str:
    """A page from one of our templates; every text is escaped."""
    text: str = html_environment("mockcheck.report").get_template(template).render(**values)
    return text


def render_standalone(
    template: str, styles: tuple[str, ...], script: str, *, pictures: bool = False, **values: Any
) -> str:
    """A page whose policy lets nothing be loaded, and nothing run but the script inside it.

    Parameters
    ----------
    styles, script
        Files of the templates' folder; '' for a page without a script.
    pictures
        Whether it shows pictures that stand inside it as data.
    values
        What the template shows; every text is escaped.

    Source: Content Security Policy Level 3, hash sources.
    """
    style = "".join(_file(name) for name in styles)
    code = _file(script) if script else ""
    shown = "img-src data:; " if pictures else ""
    allowed = f"script-src {_hash(code)}; " if code else ""
    policy = (
        f"default-src 'none'; {shown}style-src {_hash(style)}; {allowed}base-uri 'none';"
        " form-action 'none'"
    )
    return render_html(template, policy=policy, style=Markup(style), script=Markup(code), **values)


@cache
def html_environment(package: str) -> Any:
    """The templates of a package; every text is escaped, and a name that is missing is a fault."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader(package),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        autoescape=True,
    )


def _file(name: str) -> str:
    return (files("mockcheck.report") / "templates" / name).read_text(encoding="utf-8")


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return f"'sha256-{base64.b64encode(digest).decode('ascii')}'"
