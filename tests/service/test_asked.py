"""A field of a request says once what it is; commands, HTTP and Python tell the same of it."""

import inspect

import click
import pytest
from click.testing import CliRunner

import areakit
from areakit.cli.main import group
from areakit.costing.claims import FIELDS
from areakit.service.asked import asked_of
from areakit.service.job_entries import Correction, Requirement, SignOff, Trial
from areakit.service.measure_request import MeasureRequest
from areakit.service.plan_request import DepositRequest, PlanRequest, SpreadRequest
from areakit.service.quote_request import CheckRequest, Claimed, QuoteRequest
from areakit.service.record_requests import NewBottle, NewCopyCheck, NewCoupon, NewJob, ReadingRequest, StepRequest
from areakit.service.surface_request import SurfaceRequest
from areakit.units import parse_with_tolerance
from areakit.web.openapi import openapi

OWN_WORDS = {"area", "plan", "claims"}
"""What Python takes as its first argument, and as more than text."""


def option(command: str, name: str) -> click.Option:
    found = group.get_command(click.Context(group), command)
    assert found is not None
    (one,) = (one for one in found.params if one.name == name)
    assert isinstance(one, click.Option)
    return one


@pytest.mark.parametrize(
    ("command", "request_type"),
    [
        ("measure", MeasureRequest),
        ("plan", PlanRequest),
        ("plan", SpreadRequest),
        ("deposit", DepositRequest),
        ("deposit", SpreadRequest),
        ("quote", QuoteRequest),
        ("check", CheckRequest),
        ("check", Claimed),
        ("surface", SurfaceRequest),
        ("sheet-check", NewCopyCheck),
    ],
)
def test_the_command_line_tells_of_each_field_what_the_request_says(command: str, request_type: type) -> None:
    for name, one in asked_of(request_type).items():
        if one.about.typed:
            made = option(command, name)
            assert made.opts == [one.option]
            assert (made.help or "").startswith(one.words)
            assert made.multiple == (one.many or one.by_name or made.metavar == "N|N: WORDS")


@pytest.mark.parametrize(
    ("verb", "requests"),
    [
        (areakit.measure, [MeasureRequest]),
        (areakit.plan, [PlanRequest, SpreadRequest]),
        (areakit.deposit, [DepositRequest, SpreadRequest]),
        (areakit.quote, [QuoteRequest]),
        (areakit.check_quote, [CheckRequest]),
        (areakit.plated_surface, [SurfaceRequest]),
    ],
)
def test_python_tells_of_each_field_what_the_request_says(verb: object, requests: list[type]) -> None:
    assert callable(verb)
    keywords, doc = inspect.signature(verb).parameters, " ".join((verb.__doc__ or "").split())
    for request_type in requests:
        for name, one in asked_of(request_type).items():
            if name in keywords and name not in OWN_WORDS:
                assert f"{name} : " in doc
                assert " ".join(one.words.split()) in doc
    assert "Fields of" not in doc


def test_the_query_of_a_measurement_tells_of_each_field_what_the_request_says() -> None:
    told = {one["name"]: one for one in openapi()["paths"]["/api/measure"]["post"]["parameters"]}
    for one in asked_of(MeasureRequest).values():
        assert told[one.key]["description"].startswith(one.about.help)
        assert (told[one.key]["schema"]["type"] == "array") == one.many
    assert "cut-foil" in told["edge_make"]["schema"]["enum"]


@pytest.mark.parametrize(
    ("path", "request_type"),
    [
        ("plan", PlanRequest),
        ("deposit", DepositRequest),
        ("quote", QuoteRequest),
        ("check", CheckRequest),
        ("sheet-copies", NewCopyCheck),
        ("bottles/{label}/coupon", NewCoupon),
    ],
)
def test_the_body_of_a_call_tells_of_each_field_what_the_request_says(path: str, request_type: type) -> None:
    described = openapi()
    body = described["paths"][f"/api/{path}"]["post"]["requestBody"]["content"]["application/json"]["schema"]
    told = described["components"]["schemas"][body["$ref"].rpartition("/")[2]]["properties"]
    asked = {name: one.about for name, one in asked_of(request_type).items() if not one.about.local}
    assert {name: one["description"] for name, one in told.items()} == {
        name: about.schema()["description"] for name, about in asked.items()
    }


def test_options_of_a_plan_beside_its_fields_are_what_it_reads_prints_draws_and_lists() -> None:
    found = group.get_command(click.Context(group), "plan")
    assert found is not None
    fields = {*asked_of(PlanRequest), *asked_of(SpreadRequest), *asked_of(MeasureRequest)}
    assert {one.name for one in found.params} - fields == {
        *(
            "photo",
            "copy_name",
            "metal_at",
            "shape",
            "unit",
            "map_path",
            "lanes_path",
            "card_path",
            "card_paper",
            "font",
            "details",
        ),
        *("details", "as_json", "save", "list_processes", "list_requirements", "list_baths"),
    }


def test_an_example_of_a_field_is_one_that_the_command_takes() -> None:
    help_text = CliRunner().invoke(group, ["measure", "--help"], terminal_width=200).output
    assert 'Example: --thickness "1.2 ± 0.05 mm"' in " ".join(help_text.split())


def test_what_can_be_said_of_a_single_photo_is_said_in_the_request_alone() -> None:
    assert [name for name, one in asked_of(MeasureRequest).items() if one.about.each] == [
        "thickness", "form", "faces", "edge_make", "edge_form",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("command", "request_type"),
    [
        ("job new", NewJob),
        ("job step", StepRequest),
        ("job log", ReadingRequest),
        ("job require", Requirement),
        ("job test", Trial),
        ("job sign", SignOff),
        ("bottle add", NewBottle),
        ("bottle coupon", NewCoupon),
        ("bottle correct", Correction),
    ],
)
def test_commands_of_the_record_tell_of_each_field_what_its_request_says(command: str, request_type: type) -> None:
    outer, inner = command.split()
    found = group.get_command(click.Context(group), outer)
    assert isinstance(found, click.Group)
    made = {one.name: one for one in found.commands[inner].params if isinstance(one, click.Option)}
    for name, one in asked_of(request_type).items():
        if one.about.typed:
            assert (made[name].help or "").startswith(one.words)
            assert made[name].opts[0] == one.option


def test_every_figure_that_can_be_claimed_is_said_once() -> None:
    assert sorted(asked_of(Claimed)) == sorted(FIELDS)


def test_a_request_refuses_no_pieces() -> None:
    for arguments in (["job", "new", "tag", "--pieces", "-1"], ["plan", "--area", "1 cm2", "--pieces", "-3"]):
        assert CliRunner().invoke(group, arguments).exit_code == 2


@pytest.mark.parametrize("request_type", [MeasureRequest, SurfaceRequest, PlanRequest, SpreadRequest, DepositRequest])
def test_an_example_of_a_figure_is_one_of_its_kind(request_type: type) -> None:
    for one in asked_of(request_type).values():
        example = one.about.example
        for text in example.values() if isinstance(example, dict) else [example]:
            if not one.about.kind or not text:
                continue
            kind = "number" if one.name in ("wagner", "allowance") else one.about.kind
            assert parse_with_tolerance(text.removesuffix(" mean"), kind)[0] > 0.0, one.name
