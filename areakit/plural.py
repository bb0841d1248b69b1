"""Counted things in words: ``1 part``, ``2 parts``."""

from __future__ import annotations


def counted(count: int, one: str, many: str = "") -> str:
    """Return the number and the noun that fits it; ``many`` where the plural takes more than an s."""
    return f"{count} {one if count == 1 else many or one + 's'}"
