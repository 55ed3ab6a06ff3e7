"""Where the examples lie: beside the package in a clone, or where an installation puts them."""

from __future__ import annotations

import sysconfig
from importlib.resources import files
from pathlib import Path

from .problems import Problem


def example_folder() -> Path:
    """Folder `openapi_examples` of a clone, else that of the installation.

    Raises : Problem 404 when neither is there
    """
    beside = Path(str(files(__package__))).parents[1] / "openapi_examples"
    installed = Path(sysconfig.get_path("data")) / "share" / "toeline" / "openapi_examples"
    for folder in (beside, installed):
        if folder.is_dir():
            return folder
    raise Problem(404, "the examples are not installed here: run this in a clone of the repository")
