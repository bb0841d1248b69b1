"""Text in tables for spreadsheets: a cell that begins like a formula is led by an apostrophe, and so stays text."""

from __future__ import annotations

from typing import Any

_BEGINS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""What spreadsheets take for the start of a formula (common practice, no source); the wide signs count in East Asia."""


def as_text(cell: Any) -> Any:
    """Return a cell that no spreadsheet takes for a formula; numbers stay as they are."""
    return f"'{cell}" if isinstance(cell, str) and _begins(cell) else cell


def from_text(cell: str) -> str:
    """Return what `as_text` was given."""
    return cell[1:] if cell.startswith("'") and _begins(cell) else cell


def _begins(cell: str) -> bool:
    return cell.lstrip("'").startswith(_BEGINS)
