"""Cracks: stress intensity, growth laws, life by integration, load sharing, fracture, inspection."""

from __future__ import annotations
