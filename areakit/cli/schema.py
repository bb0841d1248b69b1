"""``areakit schema``: the JSON Schema of what a command prints."""

from __future__ import annotations

import json

import click

from areakit.cli.command import Command


@click.command(cls=Command)
@click.argument("of", default="measure", type=click.Choice(["measure", "plan"]))
def command(of: str) -> None:
    """Print the JSON Schema of what areakit measure --json (one line a photo) or areakit plan --json prints.

    \b
    Examples:
      areakit schema > measure.schema.json
      areakit schema plan > plan.schema.json
    """
    from areakit.records.schema import measure_schema, plan_schema

    click.echo(json.dumps(plan_schema() if of == "plan" else measure_schema(), indent=2))
