"""``areakit solution``: keep and check the solutions on the user's shelf."""

from __future__ import annotations

from pathlib import Path

import click

from areakit.cli.command import Group, solutions_path
from areakit.cli.entries import read_text
from areakit.errors import FileError, InputError, in_shell
from areakit.output import write_whole
from areakit.plural import counted


@click.group("solution", cls=Group)
def command() -> None:
    """Keep the label values of your own solutions in a TOML file, and check them.

    \b
    Examples:
      areakit solution add my-gold --metal gold --bath gold-cyanide --metal-content "8.2 g/L"
      areakit solution list

    \b
    The file:
      [solutions.my-gold]
      metal = "gold"
      bath = "gold-cyanide"
      metal_content = "8.2 g/L"
      plating_factor = "0.006 A.h/in2/0.0001in"
      allowed_charge = "5 A.h/L"
      voltage = "4 V to 10 V"
      contains = ["cyanide"]
    """


@command.command("check")
@click.argument("file", required=False)
def check(file: str | None) -> None:
    """Check a solutions FILE, or your own; one sentence for each wrong field.

    \b
    Example:
      areakit solution check
    """
    from areakit.plating.solutions import read_solutions

    path = file or str(solutions_path())
    found = read_solutions(read_text(path) or "")
    click.echo(f"{path}: {counted(len(found), 'solution')}, all fields can be read.")
    for solution in found.values():
        for finding in solution.findings:
            click.echo(f"{solution.key}: {finding.message} {in_shell(finding.remedy, finding.fields)}")


@command.command("list")
@click.option("--file", metavar="FILE", help="Another file than your own.")
def list_solutions(file: str | None) -> None:
    """List the solutions, with the cathode efficiency that each plating factor implies.

    \b
    Example:
      areakit solution list
    """
    from areakit.cli.page import Page
    from areakit.plating.deposit import table_density
    from areakit.plating.efficiency import from_factor
    from areakit.plating.premise import given
    from areakit.plating.solutions import read_solutions
    from areakit.units import show

    rows = []
    path = Path(file) if file else solutions_path()
    if file is None and not path.exists():
        click.echo("There are no solutions yet. Keep one: areakit solution add my-gold --metal gold")
        return
    for one in read_solutions(read_text(str(path)) or "").values():
        implied = one.efficiency
        if one.plating_factor is not None:
            density = table_density(one.bath).quantity
            implied = from_factor(one.bath, one.plating_factor, density=density, origin=given()).quantity
        rows.append((one.key, one.metal, show(implied, "%") if implied else "not given", one.title))
    page = Page()
    page.table(rows, header=("solution", "metal", "efficiency", "title"))
    page.show()


@command.command("add")
@click.argument("name")
@click.option("--metal", required=True, metavar="METAL", help="Metal it deposits. Example: --metal gold")
@click.option("--bath", metavar="BATH", help="Kind of bath. Example: --bath gold-cyanide")
@click.option("--title", metavar="TEXT", help="What the label calls it.")
@click.option("--metal-content", metavar="VALUE", help='Metal in the solution. Example: --metal-content "8.2 g/L"')
@click.option(
    "--plating-factor", metavar="VALUE", help='Of the label. Example: --plating-factor "0.006 A.h/in2/0.0001in"'
)
@click.option("--efficiency", metavar="VALUE", help='In place of a factor. Example: --efficiency "72 % ± 6 %"')
@click.option("--allowed-charge", metavar="CHARGE", help='For a litre. Example: --allowed-charge "5 A.h/L"')
@click.option(
    "--usable-fraction",
    metavar="SHARE",
    help='Share of the metal that can be plated out. Example: --usable-fraction "30 %"',
)
@click.option("--voltage", metavar="LOW to HIGH", help='Of the label. Example: --voltage "4 V to 10 V"')
@click.option(
    "--current-density", metavar="LOW to HIGH", help='Of the label. Example: --current-density "5 A/dm2 to 15 A/dm2"'
)
@click.option("--speed", metavar="LOW to HIGH", help='Of the hand. Example: --speed "8 m/min to 20 m/min"')
@click.option(
    "--contains",
    multiple=True,
    metavar="KEY",
    help="Caution it brings along; may be repeated. Example: --contains cyanide",
)
@click.option("--file", metavar="FILE", help="Another file than your own.")
def add(name: str, file: str | None, contains: tuple[str, ...], **fields: str | None) -> None:
    """Add the solution NAME to your solutions file.

    \b
    Example:
      areakit solution add my-gold --metal gold --bath gold-cyanide --metal-content "8.2 g/L" \\
        --plating-factor "0.006 A.h/in2/0.0001in" --contains cyanide
    """
    from areakit.plating.solutions import read_solutions, write_solution

    row: dict[str, object] = {field: value for field, value in fields.items() if value is not None}
    if contains:
        row["contains"] = list(contains)
    text = write_solution(name, row)
    path = Path(file) if file else solutions_path()
    before = (read_text(str(path)) or "") if path.is_file() else ""
    if name in read_solutions(before):
        raise InputError(f"{path} holds a solution {name} already.", remedy="Choose another name, or edit the file.")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileError(f"{path} cannot be written: {error.strerror}.", remedy="Choose another --file.") from None
    write_whole(path, (before.rstrip() + ("\n\n" if before.strip() else "") + text).encode())
    click.echo(f"Added {name} to {path}.")
