"""What ``areakit plan`` was told, completed from the shop profile, and the rest asked for where somebody can answer."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from areakit.errors import AreakitError

if TYPE_CHECKING:
    from areakit.service.plan_gaps import Gap
    from areakit.service.shop_fill import Filled
    from areakit.service.shop_profile import Profile


def can_ask(*, quiet: bool) -> bool:
    """Tell whether questions can be asked: a person at a terminal who did not ask for JSON."""
    return not quiet and sys.stdin.isatty() and sys.stdout.isatty()


def completed(typed: Mapping[str, Any], profile: Profile | None, *, brush: str | None, asks: bool) -> Filled:
    """Return the entries with what the profile holds and what was answered.

    InputError where nobody can answer: with everything that is missing.
    """
    from areakit.cli.desk import tell_missing_journal
    from areakit.service.plan_factors import with_own
    from areakit.service.plan_gaps import gaps, refuse_missing
    from areakit.service.shop_fill import filled

    if typed.get("solution"):
        tell_missing_journal(typed.get("journal"))
    entries, declined = dict(typed), set[tuple[str, str]]()
    before = dict(entries)
    while True:
        try:
            found = with_own(filled(entries, profile, brush=brush), entries)
            missing = tuple(
                gap
                for gap in gaps(found.entries, profile)
                if (gap.entry, gap.metal) not in declined and not (asks and gap.entry == "later")
            )
        except AreakitError as error:
            if entries == before:
                raise
            click.echo(f"  {error.in_shell}")
            entries = dict(before)
            continue
        if not missing or (not asks and not any(gap.needed for gap in missing)):
            return found
        if not asks:
            refuse_missing(found.entries, missing)
        before = dict(entries)
        _ask(missing[0], entries, declined)


def _ask(gap: Gap, entries: dict[str, Any], declined: set[tuple[str, str]]) -> None:
    """Put one question, and keep the answer; an empty one to a question that can stay open is not asked again."""
    choices = f" ({', '.join(gap.choices)})" if 1 < len(gap.choices) <= 10 else ""
    example = f", such as {gap.example}" if gap.example and not choices else ""
    words = f"{gap.question}{choices or example}{'' if gap.needed else ', Enter leaves it open'}"
    answer = click.prompt(
        words, default=gap.default or ("" if not gap.needed else None), show_default=bool(gap.default)
    )
    text = str(answer).strip()
    if not text:
        declined.add((gap.entry, gap.metal))
    elif gap.metal:
        entries[gap.entry] = {**(entries.get(gap.entry) or {}), gap.metal: text}
    elif gap.entry == "photo":
        from pathlib import Path

        entries["photo"] = Path(text)
    else:
        entries[gap.entry] = text


def ask_pieces(count: int) -> int:
    """Return how many equal pieces there are; as many as the photo shows unless somebody says otherwise."""
    answer: int = click.prompt("How many pieces", default=count, type=click.IntRange(min=1))
    return answer
