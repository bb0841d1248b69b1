"""``areakit solution``: keep and check the solutions on the user's shelf."""

from __future__ import annotations

from pathlib import Path

import click

from areakit.cli.entries import read_text, solutions_path
from areakit.errors import FileError, InputError


@click.group("solution")
def command() -> None:
    """Keep the label values of your own solutions in a TOML file, and check them.

    \b
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
    """Check a solutions FILE, or your own; one sentence for each wrong field."""
    from areakit.plating.solutions import read_solutions

    path = file or str(solutions_path())
    found = read_solutions(read_text(path) or "")
    click.echo(f"{path}: {len(found)} solution(s), all fields can be read.")
    for solution in found.values():
        for finding in solution.findings:
            click.echo(f"{solution.key}: {finding.message} {finding.remedy}")


@command.command("list")
@click.option("--file", metavar="FILE", help="Another file than your own.")
def list_solutions(file: str | None) -> None:
    """Show the solutions, with the cathode efficiency that each plating factor implies."""
    from areakit.cli.page import Page
    from areakit.plating.deposit import table_density
    from areakit.plating.efficiency import from_factor
    from areakit.plating.premise import given
    from areakit.plating.solutions import read_solutions
    from areakit.units import show

    rows = []
    for one in read_solutions(read_text(file or str(solutions_path())) or "").values():
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
@click.option("--metal", required=True, help="Metal it deposits. Example: --metal gold")
@click.option("--bath", help="Kind of bath. Example: --bath gold-cyanide")
@click.option("--title", help="What the label calls it.")
@click.option("--metal-content", help='Example: --metal-content "8.2 g/L"')
@click.option("--plating-factor", help='Example: --plating-factor "0.006 A.h/in2/0.0001in"')
@click.option("--efficiency", help='In place of a factor. Example: --efficiency "72 % ± 6 %"')
@click.option("--allowed-charge", help='Example: --allowed-charge "5 A.h/L"')
@click.option("--usable-fraction", help='Example: --usable-fraction "30 %"')
@click.option("--voltage", help='Example: --voltage "4 V to 10 V"')
@click.option("--current-density", help='Example: --current-density "5 A/dm2 to 15 A/dm2"')
@click.option("--speed", help='Example: --speed "8 m/min to 20 m/min"')
@click.option("--contains", multiple=True, help="Caution it brings along; may be repeated. Example: --contains cyanide")
@click.option("--file", metavar="FILE", help="Another file than your own.")
def add(name: str, file: str | None, contains: tuple[str, ...], **fields: str | None) -> None:
    """Add the solution NAME to your solutions file."""
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
        path.write_text(before.rstrip() + ("\n\n" if before.strip() else "") + text, encoding="utf-8")
    except OSError as error:
        raise FileError(f"{path} cannot be written: {error.strerror}.", remedy="Choose another --file.") from None
    click.echo(f"Added {name} to {path}.")
