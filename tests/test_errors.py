"""An error carries the fields that its remedy is about as data; each surface adds its own names."""

import pickle

import pytest
from click.testing import CliRunner

from areakit.errors import Fields, InputError, in_python, in_shell
from areakit.flags import flag


@pytest.mark.parametrize(
    ("fields", "shell", "python"),
    [
        ({}, "Give it.", "Give it."),
        ({"thickness": "1.2 mm"}, 'Give it (--thickness "1.2 mm").', 'Give it (thickness="1.2 mm").'),
        ({"edge_form": ""}, "Give it (--edge-form).", "Give it (edge_form)."),
        ({"form": "turned"}, "Give it (--form turned).", 'Give it (form="turned").'),
        ({"layer.gold": "0.5 um"}, 'Give it (--layer gold="0.5 um").', 'Give it (layer={"gold": "0.5 um"}).'),
        ({"factor.gold": ""}, "Give it (--factor gold).", 'Give it (factor={"gold": "..."}).'),
        ({"areakit job check": ""}, "Give it (areakit job check).", "Give it."),
        ({"hole": "1.0,2.0", "metal": "1.0,2.0"}, "Give it (--hole 1.0,2.0, --metal 1.0,2.0).",
         'Give it (hole="1.0,2.0", metal="1.0,2.0").'),
    ],
)  # fmt: skip
def test_a_remedy_gets_the_names_of_who_shows_it(fields: Fields, shell: str, python: str) -> None:
    assert in_shell("Give it.", fields) == shell
    assert in_python("Give it.", fields) == python


def test_an_error_keeps_its_fields_on_the_way_from_a_worker_and_says_them_in_python() -> None:
    error = pickle.loads(pickle.dumps(InputError("It lacks one.", remedy="Give it.", fields={"thickness": "1 mm"})))
    assert error.fields == {"thickness": "1 mm"}
    assert str(error) == 'It lacks one. Give it (thickness="1 mm").'


def test_a_caution_names_its_place_as_the_answer_does() -> None:
    told = flag("LOOKS_UNDECIDED", area_mm2=3.0, x_mm=12.34, y_mm=-5.0, percent=1.0)
    assert dict(told.fields) == {"hole": "12.3,-5.0", "metal": "12.3,-5.0"}
    assert "12.3" not in told.remedy


def test_the_command_line_names_the_option_with_its_example() -> None:
    from areakit.cli.main import group

    done = CliRunner().invoke(group, ["surface", "--shape", "disk 30 mm", "--faces", "all"])
    assert isinstance(done.exception, InputError)
    assert dict(done.exception.fields)["thickness"] == "1.2 mm"
