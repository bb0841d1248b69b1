"""``areakit schema``: the JSON Schema of what a command prints."""

from __future__ import annotations

import json

import click


@click.command()
def command() -> None:
    """Print the JSON Schema of one line of areakit measure --json.

    \b
    areakit schema > measure.schema.json
    """
    from areakit.records.schema import measure_schema

    click.echo(json.dumps(measure_schema(), indent=2))
