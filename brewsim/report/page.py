"""Write the page: one HTML file that holds all it needs and asks the network for nothing."""

import base64
import contextlib
import hashlib
import os
import tempfile
from importlib.resources import files
from pathlib import Path

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup
from plotly.offline import get_plotlyjs

from brewsim.report import words
from brewsim.report.content import Content
from brewsim.report.views import view_of


def write_report(path: str | Path, content: Content) -> Path:
    """Write the page to `path`, whole or not at all: a temporary file takes its place at the end.

    Returns the path. Raises OSError when the folder cannot be written to.
    """
    path = Path(path)
    text = render(content)
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".part", dir=path.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
        Path(name).chmod(0o644)
        os.replace(name, path)  # noqa: PTH105 - named so that it can be seen to be atomic
    except BaseException:
        with contextlib.suppress(OSError):
            Path(name).unlink()
        raise
    return path


def render(content: Content) -> str:
    """Return the page as text; every word of the content is escaped."""
    environment = Environment(
        loader=PackageLoader("brewsim.report", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    library, script = _inline(get_plotlyjs()), _inline(_asset("page.js") + _asset("what_if.js"))
    return environment.get_template("page.html").render(
        page=content,
        view=view_of(content),
        words=words,
        sheet=Markup(_asset("page.css")),  # noqa: S704 - our own file
        library=Markup(library),  # noqa: S704 - the drawing library
        script=Markup(script),  # noqa: S704 - our own file
        policy=_policy(library, script),
    )


def _asset(name: str) -> str:
    return files("brewsim.report").joinpath("templates", name).read_text(encoding="utf-8")


def _inline(script: str) -> str:
    """Return a script as it can stand between tags: nothing closes it, line ends as in HTML."""
    if "</script" in script.lower() or "<!--" in script:
        script = script.replace("</script", "<\\/script").replace("<!--", "<\\!--")
    return script.replace("\r\n", "\n").replace("\r", "\n")


def _policy(*scripts: str) -> str:
    """Forbid everything but these very scripts and the styles of the page: no network at all."""
    hashes = [
        f"'sha256-{base64.b64encode(hashlib.sha256(s.encode()).digest()).decode()}'"
        for s in scripts
    ]
    return (
        f"default-src 'none'; script-src {' '.join(hashes)}; style-src 'unsafe-inline'; "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )
