"""The rates of a shop profile, as a form shows them: read from the file that it names, kept beside the profiles."""

from __future__ import annotations

from collections.abc import Mapping

from areakit.costing.rates import rates_text, read_rates
from areakit.costing.rates_form import rates_file, rates_values
from areakit.output import write_in_folder
from areakit.service.shop import (
    DEFAULT,
    EXAMPLE,
    chosen_name,
    load_shop,
    save_shop,
    shop_folder,
    shop_names,
    with_value,
)
from areakit.service.shop_price import rates_of
from areakit.service.shop_profile import Profile


def shop_rates(name: str | None) -> dict[str, str] | None:
    """Return the values of the rates that a profile names; None where it names none."""
    profile = load_shop(name)
    named = profile.one("rates", "file") if profile is not None else None
    if named is None:
        return None
    return rates_values(rates_text(example=True) if named == EXAMPLE else rates_of(named))


def keep_shop_rates(name: str | None, values: Mapping[str, str]) -> dict[str, str]:
    """Keep rates beside the profiles, and name them in the profile, which is begun where there is none.

    InputError, FileError with every rate that is missing or not understood; if the file cannot be written.
    """
    said = name or chosen_name(None) or DEFAULT
    text = rates_file(values)
    read_rates(text)
    kept = load_shop(said) if said in shop_names() else None
    profile = kept or Profile(name=said, title=said, values={})
    path = shop_folder() / "rates" / f"{said}.toml"
    write_in_folder(path, text.encode("utf-8"))
    save_shop(with_value(profile, "rates.file", f"rates/{said}.toml"))
    return rates_values(text)
