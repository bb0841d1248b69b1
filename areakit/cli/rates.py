"""``areakit rates``: write a commented settings file for a shop's rates."""

from __future__ import annotations

from pathlib import Path

import click

from areakit.cli.command import OUTPUT, Command


@click.command(cls=Command)
@click.option(
    "--currency",
    default="",
    metavar="CODE",
    help="Your currency, three capital letters (ISO 4217). Example: --currency EUR",
)
@click.option(
    "--output",
    metavar="PATH",
    type=OUTPUT,
    default=Path("areakit-rates.toml"),
    show_default=True,
    help="File to write.",
)
@click.option("--example", is_flag=True, help="Fill in invented amounts, for trying things out.")
@click.option("--force", is_flag=True, help="Write over a file that exists.")
def command(currency: str, output: Path, example: bool, force: bool) -> None:
    """Write the settings file that areakit quote reads: your rates, each with a comment.

    Amounts are left empty for you to fill in: nobody else knows them.

    \b
    Examples:
      areakit rates --currency EUR
      areakit rates --example --output trial-rates.toml
    """
    from areakit.cli.entries import write_new
    from areakit.costing.rates import rates_text

    write_new(output, rates_text(currency=currency, example=example).encode(), force=force)
    click.echo(str(output))
    if example:
        click.echo("The amounts in it are invented.")
    else:
        click.echo("Next: fill in every empty amount, then areakit quote --plan plan.json --rates " + str(output))
