"""``areakit serve``: the page for the bench, in a browser."""

from __future__ import annotations

import click


@click.command()
@click.option("--port", type=int, default=8137, show_default=True, help="Where the page is reached.")
@click.option("--lan", is_flag=True, help="Let tablets in the local network in, each by a one-time link or code.")
@click.option("--address", metavar="IP", help="With --lan: this machine's address, where it has several.")
def command(port: int, lan: bool, address: str | None) -> None:
    """Serve the bench page: photo, area, thickness, plan, quote, check.

    \b
    areakit serve
    areakit serve --lan

    Only this machine is served unless --lan is given. Photos stay here: nothing is sent to anybody, nothing is
    loaded from elsewhere, and no photo is stored. The API is described at /api/openapi.json.
    """
    from areakit.cli.measure import known_lenses
    from areakit.web.server import serve

    serve(port=port, lan=lan or address is not None, lan_host=address, say=click.echo, lenses=known_lenses)
