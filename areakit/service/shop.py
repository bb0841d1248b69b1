"""The shop profiles of this user: where they lie, which one holds, what is in it, and keeping it."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from areakit.errors import AreakitError, FileError, InputError
from areakit.output import FULL, write_in_folder
from areakit.records.codec import as_json
from areakit.service.shop_profile import (
    Profile,
    ShopEntry,
    example_text,
    is_name,
    profile_from,
    profile_text,
    read_profile,
    shop_entries,
)
from areakit.service.text_file import text_of

DEFAULT = "default"
NONE = "none"
"""Names no profile: plan from what is typed alone."""
EXAMPLE = "example"
"""The invented profile that comes with areakit; it needs no file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopValue:
    """One value that holds, and where it came from; ``value`` is None where nobody said it."""

    path: str
    value: str | None
    origin: str


def shop_folder() -> Path:
    """Return where profiles are kept: ``AREAKIT_SHOPS`` where it is set, else the user's settings folder."""
    from platformdirs import user_config_path

    named = os.environ.get("AREAKIT_SHOPS")
    return Path(named) if named else user_config_path("areakit") / "shops"


def shop_names() -> tuple[str, ...]:
    """Return the names of the kept profiles."""
    place = shop_folder()
    return tuple(sorted(path.stem for path in place.glob("*.toml"))) if place.is_dir() else ()


def shop_path(name: str) -> Path:
    """Return the file of a profile."""
    return shop_folder() / f"{name}.toml"


def chosen_name(name: str | None) -> str | None:
    """Return what holds: the named profile, that of ``AREAKIT_SHOP``, ``default``, the only one, or None."""
    said = name or os.environ.get("AREAKIT_SHOP") or None
    if said is not None:
        return None if said == NONE else said
    kept = shop_names()
    if DEFAULT in kept:
        return DEFAULT
    return kept[0] if len(kept) == 1 else None


def shop_files(name: str | None = None) -> Iterator[Path]:
    """Yield the files of all profiles, those kept beside them, and the rates that the one that holds names."""
    yield from shop_folder().rglob("*.toml")
    with contextlib.suppress(AreakitError):
        profile = load_shop(name)
        rates = profile.one("rates", "file") if profile is not None else None
        if rates:
            yield shop_folder() / Path(rates).expanduser()


def load_shop(name: str | None = None) -> Profile | None:
    """Return the profile that holds, checked; None where there is none, and where nobody named one.

    Raises
    ------
    InputError
        If the named profile is not there, or holds entries that are not understood.
    """
    said = chosen_name(name)
    if said is None:
        return None
    path = shop_path(said)
    if is_name(said) and path.is_file():
        return read_profile(text_of(path) or "", name=said)
    if said == EXAMPLE:
        return read_profile(example_text(), name=EXAMPLE)
    kept = (*shop_names(), EXAMPLE)
    is_there = said.lower() in kept
    make, fields = ("", {}) if is_there else (", or make it", {f"areakit shop {said[:40].lower()}": ""})
    raise InputError(
        f"There is no shop profile {said[:40]!r}.",
        remedy=f"Choose one of {', '.join(kept)}{make}. Their names are in small letters.",
        fields=fields,
    )


def save_shop(profile: Profile) -> Path:
    """Write a profile to its file in one step, and return the file."""
    path = shop_path(profile.name)
    return write_shop(profile_text(profile), path, name=profile.name)


def write_shop(text: str, path: Path, *, name: str) -> Path:
    """Write the text of a profile as it was typed, comments and all, once it can be read."""
    read_profile(text, name=name)
    try:
        write_in_folder(path, text.encode("utf-8"))
    except FileError as error:
        if error.code == FULL:
            raise
        raise FileError(
            error.message, remedy="Name a folder that you can write to in AREAKIT_SHOPS.", code=error.code
        ) from None
    return path


def with_value(profile: Profile, path: str, value: str | None) -> Profile:
    """Return a profile with one value set, or taken out for None; such as at ``brushes.small.footprint``.

    Raises
    ------
    InputError
        If there is no such entry, or the value is not what it must be.
    """
    keys = path.split(".")
    depth = {entry.section: 3 if entry.form in ("table", "solution") else 2 for entry in shop_entries()}
    if depth.get(keys[0]) != len(keys):
        known = ", ".join(entry.path for entry in shop_entries())
        raise InputError(f"There is no entry {path[:60]!r} in a shop profile.", remedy=f"Entries: {known}.")
    values: dict[str, Any] = {section: dict(rows) for section, rows in profile.values.items()}
    holder = values.setdefault(keys[0], {})
    if len(keys) == 3:
        holder[keys[1]] = dict(holder.get(keys[1], {}))
        holder = holder[keys[1]]
    if value is None:
        holder.pop(keys[-1], None)
    else:
        holder[keys[-1]] = value
    head = {"title": profile.title, "invented": profile.invented}
    return profile_from({**head, **values}, name=profile.name)


def shop_values(profile: Profile, *, file: str) -> tuple[ShopValue, ...]:
    """Return every value with where it came from, and every entry that nobody gave with what holds then."""
    found: list[ShopValue] = []
    for section in dict.fromkeys(entry.section for entry in shop_entries()):
        entries = [entry for entry in shop_entries() if entry.section == section]
        found += _section_values(profile, section, entries, file)
    return tuple(found)


def _section_values(profile: Profile, section: str, entries: list[ShopEntry], file: str) -> list[ShopValue]:
    rows, silent = profile.table(section), "nobody: asked, or from the tables"
    if entries[0].form == "one":
        return [
            ShopValue(path=one.path, value=rows.get(one.key), origin=file if one.key in rows else silent)
            for one in entries
        ]
    if not rows:
        place = entries[0].path.removesuffix(f".{entries[0].key}")
        return [ShopValue(path=place, value=None, origin=silent)]
    found = []
    for name, row in rows.items():
        inner = row if isinstance(row, Mapping) else {"": row}
        for key, value in inner.items():
            path = f"{section}.{name}{'.' if key else ''}{key}"
            words = ", ".join(value) if isinstance(value, list) else str(value)
            found.append(ShopValue(path=path, value=words, origin=file))
    return found


def shop_json(name: str | None = None) -> dict[str, Any]:
    """Return a profile as the page and programs take it: values, text, the definition of every entry, other names."""
    said = chosen_name(name)
    profile = load_shop(said) if said else None
    return {
        "name": said,
        "names": [*shop_names(), EXAMPLE],
        "title": profile.title if profile else None,
        "invented": profile.invented if profile else False,
        "values": profile.values if profile else {},
        "text": profile_text(profile) if profile else None,
        "form": profile_text(Profile(name=said or DEFAULT, title=said or DEFAULT, values={})),
        "entries": [{"path": entry.path, **as_json(entry)} for entry in shop_entries()],
    }
