"""Text from outside is read within bounds, or refused as what is wrong with it."""

import pytest

from areakit.foreign_text import DEEPEST, json_from, toml_from


def test_json_that_is_nested_too_deep_is_refused() -> None:
    assert json_from("[" * 40 + "]" * 40)
    with pytest.raises(ValueError, match="nested too deep"):
        json_from("[" * 200_000)


def test_toml_is_bounded_in_length_and_depth() -> None:
    assert toml_from("a.b = [[1]]") == {"a": {"b": [[1]]}}
    with pytest.raises(ValueError, match="2 million letters; the limit is 1 million"):
        toml_from("#" * 2_000_000)
    for text in ("a = " + "[" * (DEEPEST + 1), "a." * (DEEPEST + 1) + "b = 1"):
        with pytest.raises(ValueError, match=f"more than {DEEPEST} deep"):
            toml_from(text)


def test_dots_in_a_comment_are_no_key() -> None:
    assert toml_from("# " + "." * 500 + "\na = 1") == {"a": 1}
