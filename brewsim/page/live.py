"""The page while its recipe is being written: it asks the desk it came from for a newer one."""

import html

from brewsim.page.page import asset, inline, script_hash


def refreshing(page: str, version: int) -> str:
    """Return a rendered page that loads itself anew once its desk has another version.

    The written file never holds this script: only what is served asks, and only where it came
    from.
    """
    script = inline(asset("refresh.js"))
    allowed = html.escape(f"script-src {script_hash(script)} ", quote=True)
    asked = html.escape("connect-src 'self'; ", quote=True)
    page = page.replace("script-src ", f"{asked}{allowed}", 1)
    page = page.replace("<body>", f'<body data-version="{version}">', 1)
    head, _, tail = page.rpartition("</body>")
    return f"{head}<script>{script}</script>\n</body>{tail}"
