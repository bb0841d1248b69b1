"""``areakit serve``: the page for the bench, in a browser."""

from __future__ import annotations

from pathlib import Path

import click

from areakit.cli.command import Command
from areakit.cli.desk import desk_of, desk_options


@click.command(cls=Command, exits={0: "stopped by you"})
@click.option(
    "--port", type=int, default=8137, show_default=True, metavar="N", help="Port at which the page is reached."
)
@click.option("--lan", is_flag=True, help="Let tablets in the local network in, each by a one-time link or code.")
@click.option("--address", metavar="IP", help="With --lan: this machine's address, where it has several.")
@desk_options
def command(port: int, lan: bool, address: str | None, journal: Path | None, who: str | None) -> None:
    """Serve the bench page: photo, area, thickness, plan, quote, check, run, record.

    Only this machine is served unless --lan is given. Photos stay here: nothing is sent to anybody, nothing is
    loaded from elsewhere, and a photo is stored only with a job that it is kept with. The API is described at
    /api/openapi.json. With --lan what passes over the network can be read there: use it in a network that you trust.

    \b
    Examples:
      areakit serve
      areakit serve --lan
    """
    from areakit.web.server import serve

    serve(
        port=port,
        lan=lan or address is not None,
        lan_host=address,
        desk=lambda name: desk_of(journal, name or who),
        say=click.echo,
    )
