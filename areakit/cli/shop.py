"""``areakit shop``: the shop profile, asked for in the terminal, shown, set and kept."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from areakit.cli.command import Command
from areakit.cli.entries import echo_json, read_text, refuse_typed
from areakit.errors import FileError, InputError

if TYPE_CHECKING:
    from areakit.service.shop_profile import Profile, ShopEntry


@click.command("shop", cls=Command)
@click.argument("name", required=False)
@click.option("--show", is_flag=True, help="Show every value and where it came from.")
@click.option("--list", "list_names", is_flag=True, help="List the profiles and the file of each.")
@click.option("--example", is_flag=True, help="Keep the invented profile of areakit under NAME, to edit it.")
@click.option("--from", "source", metavar="FILE", help="Keep this TOML file under NAME; - is stdin.")
@click.option(
    "--set",
    "settings",
    multiple=True,
    metavar="ENTRY=VALUE",
    help='Set one entry; an empty value takes it out. Example: --set usual.base=brass --set layers.gold="0.5 um"',
)
@click.option("--json", "as_json", is_flag=True, help="Print the profile and what each entry means as one JSON object.")
def command(
    name: str | None, show: bool, list_names: bool, example: bool, source: str | None, settings: tuple[str, ...],
    as_json: bool,
) -> None:  # fmt: skip
    """Say once what stays the same from job to job; areakit plan then asks for the rest only.

    In a terminal it asks, one question a line, and shows what holds now. The profile is a TOML file to read and edit.
    Without a NAME it is the profile default. Every option of areakit plan goes before the profile.

    \b
    Examples:
      areakit shop
      areakit shop --example
      areakit shop --show
      areakit shop night-shift --set usual.base=sterling --set supply.largest_current="5 A"
    """
    from areakit.service import shop

    _one_thing(list_names=list_names, shows=show or as_json, example=example, source=source)
    if list_names:
        _list()
        return
    if as_json:
        echo_json(shop.shop_json(name))
        return
    if show:
        _show(name)
        return
    said = name or shop.chosen_name(None) or shop.DEFAULT
    if example or source is not None:
        from areakit.service.shop_profile import example_text

        text = example_text() if example else read_text(source) or ""
        if example and shop.shop_path(said).exists():
            raise FileError(
                f"There is a profile {said} already, and the example would be written over it.",
                remedy="Give the example another name: areakit shop NAME --example.",
            )
        path = shop.write_shop(text, shop.shop_path(said), name=said)
        click.echo(f"{path}{': the figures in it are invented' if example else ''}")
        return
    profile = _at_hand(said)
    if settings:
        for one in settings:
            entry, sign, value = one.partition("=")
            if not sign:
                raise InputError(f"--set {one[:40]!r} sets nothing.", remedy="Write --set usual.base=brass.")
            profile = shop.with_value(profile, entry.strip(), value.strip() or None)
        click.echo(str(shop.save_shop(profile)))
        return
    if not sys.stdin.isatty():
        raise InputError(
            "There is no terminal to ask questions in.",
            remedy=f"Use --set, or --example and edit {shop.shop_path(said)}; --show shows what holds.",
        )
    profile = _asked(profile)
    click.echo(f"\n{shop.save_shop(profile)}: kept. Read and edit it, or ask areakit shop --show.")


def _one_thing(*, list_names: bool, shows: bool, example: bool, source: str | None) -> None:
    """Refuse what would change nothing beside an option that was typed too."""
    if list_names:
        refuse_typed("name", "show", "as_json", "example", "source", "settings", why="is about one profile, not a list")
    elif shows:
        refuse_typed("example", "source", "settings", why="changes a profile, and one is to be shown")
    elif example:
        refuse_typed(
            "source", "settings", why="fills a profile, and --example does", remedy="Give one after the other."
        )
    elif source is not None:
        refuse_typed("settings", why="fills a profile, and --from does", remedy="Give one after the other.")


def _at_hand(name: str) -> Profile:
    """Return the kept profile, or an empty one."""
    from areakit.service import shop
    from areakit.service.shop_profile import Profile

    if name in shop.shop_names():
        found = shop.load_shop(name)
        assert found is not None
        return found
    return Profile(name=name, title=name, values={})


def _list() -> None:
    from areakit.cli.page import Page
    from areakit.service import shop

    rows = [(name, str(shop.shop_path(name)), _mark(name)) for name in shop.shop_names()]
    page = Page()
    page.table([*rows, (shop.EXAMPLE, "comes with areakit", "invented")], header=("profile", "file", ""))
    page.show()


def _mark(name: str) -> str:
    from areakit.service import shop

    return "holds" if name == shop.chosen_name(None) else ""


def _show(name: str | None) -> None:
    from areakit.cli.page import Page
    from areakit.service import shop

    profile = shop.load_shop(name)
    page = Page()
    if profile is None:
        page.lines(
            ["There is no shop profile yet. areakit shop asks for one; areakit shop --example writes one."], mark=""
        )
        page.show()
        return
    kept = profile.name in shop.shop_names()
    file = f"{profile.name}.toml" if kept else "the example that comes with areakit, invented"
    page.heading(f"Shop profile {profile.name}: {profile.title}{' (invented)' if profile.invented else ''}")
    rows = [(one.path, one.value or "-", one.origin) for one in shop.shop_values(profile, file=file)]
    page.table(rows, header=("entry", "value", "from"))
    page.lines([str(shop.shop_path(profile.name)) if kept else "Keep it with areakit shop --example."], mark="File: ")
    page.show()


def _asked(profile: Profile) -> Profile:
    """Ask for every entry that a new profile wants, with what holds now as the default."""
    from areakit.service import shop
    from areakit.service.shop_profile import shop_entries

    click.echo("Enter keeps what stands in brackets or leaves it open; - takes it out. Ctrl-C stops and keeps nothing.")
    for entry in shop_entries():
        if not entry.ask:
            continue
        for path, label in _places(entry, profile):
            profile = _asked_one(entry, path, label, profile)
    return shop.with_value(profile, "usual.base", profile.one("usual", "base"))


def _asked_one(entry: ShopEntry, path: str, label: str, profile: Profile) -> Profile:
    from areakit.errors import AreakitError
    from areakit.service import shop

    holds = _value(profile, path)
    while True:
        text = click.prompt(f"{label} (such as {entry.example})", default=holds or "", show_default=bool(holds)).strip()
        if not text:
            return profile
        try:
            return shop.with_value(profile, path, None if text == "-" else text)
        except AreakitError as error:
            click.echo(f"  {error.in_shell}")


def _value(profile: Profile, path: str) -> str | None:
    keys = path.split(".")
    row = profile.table(keys[0])
    for key in keys[1:-1]:
        row = row.get(key, {})
    value = row.get(keys[-1])
    return None if value is None else str(value)


def _places(entry: ShopEntry, profile: Profile) -> list[tuple[str, str]]:
    """Return where an entry is asked for: once, or for each metal of the usual processes, or each name there is."""
    if entry.form == "one":
        return [(entry.path, entry.asked)]
    if entry.form == "metal":
        return [(f"{entry.section}.{metal}", f"{entry.asked} {metal}") for metal in _metals(profile)]
    if entry.form == "name":
        name = profile.one("usual", entry.section)
        names = dict.fromkeys([*([name] if name else []), *profile.table(entry.section)])
        return [(f"{entry.section}.{one}", f"{entry.asked}: {one}") for one in names]
    names = dict.fromkeys([profile.one("usual", "brush") or "small", *profile.table(entry.section)])
    return [(f"{entry.section}.{one}.{entry.key}", f"{entry.asked}: {one}") for one in names]


def _metals(profile: Profile) -> list[str]:
    from areakit.plating.process import all_processes

    known = all_processes()
    return list(dict.fromkeys(m for name in profile.processes if name in known for m in known[name].metals))
