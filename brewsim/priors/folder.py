"""Where the shipped priors and rules lie, and how one of their files is read."""

import tomllib
from pathlib import Path
from typing import Any

from brewsim.errors import BrewsimError, InputError


def prior_folder() -> Path:
    """Return where the priors lie: beside the package in a checkout, inside it when installed."""
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "priors_data", package.parent / "priors"):
        if folder.is_dir():
            return folder
    raise BrewsimError(f"the priors are missing: neither {package}/priors_data nor ../priors")


def read_toml(path: Path) -> dict[str, Any]:
    """Return a file as tables; raises InputError where it is not TOML."""
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise InputError(str(path), [f"this is not TOML: {error}"]) from None
