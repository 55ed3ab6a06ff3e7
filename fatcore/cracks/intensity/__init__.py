"""Stress intensity factors: one file per family of cracks; `families` lists them by name."""

from __future__ import annotations
