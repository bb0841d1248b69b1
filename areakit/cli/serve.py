"""``areakit serve``: the page for the bench, in a browser."""

from __future__ import annotations

from pathlib import Path

import click

from areakit.cli.desk import desk_of, desk_options


@click.command()
@click.option("--port", type=int, default=8137, show_default=True, help="Where the page is reached.")
@click.option("--lan", is_flag=True, help="Let tablets in the local network in, each by a one-time link or code.")
@click.option("--address", metavar="IP", help="With --lan: this machine's address, where it has several.")
@desk_options
def command(port: int, lan: bool, address: str | None, journal: Path | None, who: str | None) -> None:
    """Serve the bench page: photo, area, thickness, plan, quote, check, run, record.

    \b
    areakit serve
    areakit serve --lan

    Only this machine is served unless --lan is given. Photos stay here: nothing is sent to anybody, nothing is
    loaded from elsewhere, and a photo is stored only with a job that it is kept with. The API is described at
    /api/openapi.json.
    """
    from areakit.web.server import serve

    serve(
        port=port,
        lan=lan or address is not None,
        lan_host=address,
        desk=lambda name: desk_of(journal, name or who),
        say=click.echo,
    )
