"""Writes the guide's page of the keys of a map anew: python -m tests.api.remake_map_keys."""

from __future__ import annotations

from pathlib import Path

from service.mesh.map_keys import guide

PAGE = Path(__file__).parents[2] / "service" / "guides" / "map_keys.md"

if __name__ == "__main__":
    PAGE.write_text(guide(), encoding="utf-8")
