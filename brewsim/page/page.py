"""Write the page: one HTML file that holds all it needs and asks the network for nothing."""

import base64
import gzip
import hashlib
from functools import cache
from importlib.resources import files
from pathlib import Path

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from brewsim.errors import InputError
from brewsim.files.text_files import write_whole
from brewsim.page.views import view_of
from brewsim.wording.card_parts import BrewDayCard
from brewsim.wording.content import Content


def write_report(path: str | Path, content: Content, *, light: bool = False) -> Path:
    """Write the page to `path`, whole or not at all: a temporary file takes its place at the end.

    Parameters
    ----------
    path
        The HTML file; what is there is replaced.
    content
        What `report` returns.
    light
        Leave the drawing library out: a page of a tenth of the size, whose charts do not zoom.

    Returns
    -------
    Path
        The file written.

    Raises
    ------
    InputError
        For content that is no page: draws, a summary.
    OSError
        When the folder cannot be written to.

    Examples
    --------
    >>> write_report("page.html", {"draws": 3})
    Traceback (most recent call last):
        ...
    brewsim.errors.InputError: page: a page is made by brewsim.report(recipe), not of a dict
    """
    _check_content(content)
    return write_page(path, render(content, light=light))


def _check_content(content: object) -> None:
    if not isinstance(content, Content):
        kind = type(content).__name__
        raise InputError("page", [f"a page is made by brewsim.report(recipe), not of a {kind}"])


def write_page(path: str | Path, text: str) -> Path:
    """Write a rendered page to `path`, whole or not at all; returns the path."""
    path = Path(path)
    write_whole(path, text.encode(), follow=False)
    return path


def render(content: Content, *, light: bool = False) -> str:
    """Return the page as text; every word of the content is escaped.

    With `light` the drawing library stays out: drawings have a counting line, and no live form.
    """
    library = "" if light else _library()
    script = inline(asset("page.js") + asset("dials.js"))
    return (
        _environment()
        .get_template("page.html")
        .render(
            page=content,
            view=view_of(content),
            live=not light,
            style=Markup(asset("page.css") + asset("card.css")),  # noqa: S704 - our own files
            packed=Markup(packed(library)) if library else "",  # noqa: S704 - base64
            script=Markup(script),  # noqa: S704 - our own file
            policy=_policy(*filter(None, (library, script))),
        )
    )


def render_card(card: BrewDayCard, recipe: str = "") -> str:
    """Return the brew-day card as a page of its own, without scripts.

    It keeps the text of its `recipe`, for who logs what was written on it.
    """
    sheet = Markup(asset("card.css"))  # noqa: S704 - our own file
    template = _environment().get_template("card.html")
    return template.render(card=card, style=sheet, recipe=recipe)


def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("brewsim.page", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


@cache
def packed(library: str) -> str:
    """Return a script packed: gzip in base64, the same bytes for the same script."""
    return base64.b64encode(gzip.compress(library.encode(), compresslevel=5, mtime=0)).decode()


def asset(name: str) -> str:
    """Return one of our own style sheets or scripts."""
    return files("brewsim.page").joinpath("templates", name).read_text(encoding="utf-8")


def inline(script: str) -> str:
    """Return a script as it can stand between tags: nothing closes it, line ends as in HTML."""
    if "</script" in script.lower() or "<!--" in script:
        script = script.replace("</script", "<\\/script").replace("<!--", "<\\!--")
    return script.replace("\r\n", "\n").replace("\r", "\n")


def _library() -> str:
    """Return the drawing library's script, without loading the library itself."""
    return files("plotly").joinpath("package_data", "plotly.min.js").read_text(encoding="utf-8")


def script_hash(script: str) -> str:
    """Return how a content security policy names a script."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()}'"


def _policy(*scripts: str) -> str:
    """Forbid everything but these very scripts and the styles of the page: no network at all."""
    hashes = " ".join(map(script_hash, scripts))
    return (
        f"default-src 'none'; script-src {hashes}; style-src 'unsafe-inline'; "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )
