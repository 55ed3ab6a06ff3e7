"""The front door of a package: the names of its stub file, each imported when it is first used."""

from __future__ import annotations

import ast
from collections.abc import Callable
from functools import cache
from importlib import import_module
from importlib.resources import files
from typing import Any


@cache
def homes(package: str) -> dict[str, tuple[str, str]]:
    """Module and name there of everything that `<package>/__init__.pyi` imports."""
    stub = ast.parse(files(package).joinpath("__init__.pyi").read_text(encoding="utf-8"))
    imports = [node for node in stub.body if isinstance(node, ast.ImportFrom) and node.module]
    return {a.asname or a.name: (str(node.module), a.name) for node in imports for a in node.names}


def front_door(package: str) -> tuple[Callable[[str], Any], Callable[[], list[str]], list[str]]:
    """`__getattr__`, `__dir__` and `__all__` of a package that exports what its stub file imports."""

    def get(name: str) -> Any:
        if name not in homes(package):
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        module, original = homes(package)[name]
        return getattr(import_module(module), original)

    return get, lambda: sorted(homes(package)), sorted(homes(package))
