"""``areakit serve``: the page for the bench, in a browser."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from areakit.cli.command import Command
from areakit.cli.desk import default_journal, desk_of, journal_options
from areakit.executors.processes import one_thread_each


@click.command(cls=Command, exits={0: "stopped by you"})
@click.option(
    "--port", type=int, default=8137, show_default=True, metavar="N", help="Port at which the page is reached."
)
@click.option("--lan", is_flag=True, help="Let tablets in the local network in, each by a one-time link or code.")
@click.option("--address", metavar="IP", help="With --lan: this machine's address, where it has several.")
@click.option(
    "--plain", is_flag=True, help="With --lan: without encryption. The alarm of a phone may then stay silent."
)
@journal_options
def command(port: int, lan: bool, address: str | None, plain: bool, journal: Path | None, who: str | None) -> None:
    """Serve the bench page: photo, area, thickness, plan, quote, check, run, record.

    Only this machine is served unless --lan is given. Photos stay here: nothing is sent to anybody, nothing is
    loaded from elsewhere, and a photo is stored only with a job that it is kept with. The API is described at
    /api/openapi.json. With --lan the line is encrypted by a certificate that this server makes at its first start,
    and a device that was let in stays in for a day, also when the server is started again.

    When a run reaches its target this computer rings as well, by the bell of this terminal.

    \b
    Examples:
      areakit serve
      areakit serve --lan
    """
    one_thread_each()  # before any of them loads: the browser of a bench wants the other core
    from areakit.web.server import Network, serve

    in_network = lan or address is not None
    if plain and not in_network:
        raise click.UsageError("--plain is about the network. Give it with --lan.")
    serve(
        port=port,
        network=Network(folder=default_journal().parent, host=address, plain=plain) if in_network else None,
        desk=lambda name: desk_of(journal, name or who, tells=name is None),
        say=click.echo,
        ring=_bell,
    )


def _bell() -> None:
    """Ring the bell of the terminal: an order of our own, which the stream for texts from outside would not let by."""
    if sys.__stdout__ is not None:
        sys.__stdout__.write("\a")
        sys.__stdout__.flush()
