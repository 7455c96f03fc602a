"""The kinds of dog that can be drawn: builds, ears and tails by name. Their geometry is the drawing's."""

from __future__ import annotations

BUILDS = ("square", "short_legged", "long_low", "leggy", "round_headed", "giant")
EARS = ("prick", "folded", "drop")
TAILS = ("up", "level", "docked")
"""Tails as they are seen. ``docked``: by birth or long ago; shown, not endorsed."""
