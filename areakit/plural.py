"""Counted things in words, ``1 part``, ``2 parts``, and numbers that follow each other."""

from __future__ import annotations

from collections.abc import Iterable


def counted(count: int, one: str, many: str = "") -> str:
    """Return the number and the noun that fits it; ``many`` where the plural takes more than an s."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def rows_of(numbers: Iterable[int]) -> list[list[int]]:
    """Return numbers in ascending order, those that follow each other without a gap together."""
    rows: list[list[int]] = []
    for number in sorted(numbers):
        if rows and number == rows[-1][-1] + 1:
            rows[-1].append(number)
        else:
            rows.append([number])
    return rows
