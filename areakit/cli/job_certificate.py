"""The certificate of a released job, and whether one agrees with the record."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import click

from areakit.cli.command import JOURNAL, OUTPUT, Command
from areakit.cli.desk import desk_options
from areakit.cli.entries import echo_json, font_option, paper_option

if TYPE_CHECKING:
    from areakit.service.desk import Desk

NUMBER = click.argument("number")
VERIFIED = {
    **JOURNAL,
    0: "the certificate and the record agree",
    2: "wrong usage, or neither a code nor a certificate",
    6: "the code itself was changed or mistyped",
    7: "the code is of another job",
    8: "the record was changed, or the file says what the record does not",
}


def add_to(group: click.Group) -> None:
    """Add these commands to the group of jobs."""
    for one in (certificate, verify):
        group.add_command(one)


@click.command("certificate", cls=Command, exits={**JOURNAL, 4: "the job is not released, or the journal refuses"})
@NUMBER
@click.option("--output", type=OUTPUT, required=True, metavar="PATH", help="PDF. Example: --output certificate.pdf")
@paper_option
@font_option
@desk_options
def certificate(number: str, output: Path, paper: str, font: Path | None, desk: Desk) -> None:
    """Write the certificate of conformance of a released job, and print its code.

    It states order, part, requirement, what was done with its uncertainty, tests, bottles and lots, and exceptions; the
    record keeps that it was written. Only a job that was signed, and not changed since, gets one.

    \b
    Example:
      areakit job certificate 2026-0001 --output certificate.pdf
    """
    from areakit.service.certificate import write_certificate

    code = write_certificate(desk, number, output, paper=paper.lower(), font=font)
    click.echo(f"{output}\nCode {code}")


@click.command("verify", cls=Command, exits=VERIFIED)
@NUMBER
@click.argument("code", metavar="CODE|FILE")
@click.option("--json", "as_json", is_flag=True, help="Print what the certificate states as one JSON object.")
@desk_options
def verify(number: str, code: str, as_json: bool, desk: Desk) -> None:
    """Hold the code of a certificate, or its PDF, against the record of a job.

    With the file every word of it is compared. Agreement says that the record is the one that the certificate was
    written from; it is not a signature.

    \b
    Examples:
      areakit job verify 2026-0001 2026-0001/14/7f3a-90bc-1122-8d0e-55aa/9c41
      areakit job verify 2026-0001 certificate.pdf
    """
    from areakit.cli.page import Page
    from areakit.service.certificate import verify as verify_code
    from areakit.service.certificate import verify_file
    from areakit.service.job import read_file

    as_file = os.path.isfile(code) or code.lower().endswith(".pdf")
    found = verify_file(desk, number, read_file(Path(code))) if as_file else verify_code(desk, number, code)
    if as_json:
        echo_json({"code": str(found.code), "words_compared": found.words, **found.statement})
        return
    what = "Code and words agree" if found.words else "The code agrees"
    click.echo(f"{what} with the record of job {number}. Compare what the certificate says with this:")
    page = Page()
    stated = found.statement
    page.table([(row[0], row[1]) for row in (*stated["order"], *stated["area"])])
    page.table(stated["thickness"], header=("metal", "required", "minimum by the charge", "readings"))
    page.lines([f"Exception: {one}" for one in stated["exceptions"]])
    page.show()
