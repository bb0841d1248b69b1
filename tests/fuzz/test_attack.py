"""A few hundred broken inputs a reader; ``python -m tests.fuzz.attack`` sends ten thousand."""

import contextlib
import os

import pytest

from areakit.errors import AreakitError
from tests.fuzz import isolation
from tests.fuzz.isolation import attack, case
from tests.fuzz.targets import READERS, Reader

CASES = {"measured photo": 12}
MANY = 100


@pytest.mark.thorough
@pytest.mark.parametrize("name", READERS)
def test_broken_input_gets_an_answer_or_one_clear_sentence(name: str) -> None:
    found = attack(name, range(CASES.get(name, MANY)))
    assert found.defects == {}
    assert found.peak_bytes < isolation.MEMORY
    assert found.outcomes["refused"] > 0, "nothing was broken"


@pytest.mark.parametrize("name", [name for name in READERS if name != "HEIC"])
def test_what_is_broken_was_sound_before(name: str) -> None:
    """Else nothing behind the first check would ever be tried."""
    reader = READERS[name]
    answered = 0
    for seed in list(reader.seeds())[:3]:
        with contextlib.suppress(AreakitError):
            reader.read(seed)
            answered += 1
    assert answered > 0


def test_a_case_is_the_same_on_every_run() -> None:
    assert case("SVG", 7) == case("SVG", 7) != case("SVG", 8)


def crash(_: bytes) -> None:
    os.abort()


def hoard(_: bytes) -> None:
    bytearray(4 * isolation.MEMORY)


def dawdle(_: bytes) -> None:
    for _each in range(10**9):
        pass


def write_elsewhere(_: bytes) -> None:
    with open("/var/tmp/areakit-fuzz-was-here", "w", encoding="utf-8"):
        pass


def call_out(_: bytes) -> None:
    import socket

    socket.create_connection(("192.0.2.1", 80), timeout=1)


def stay(_: bytes) -> None:
    with open("left-behind", "w", encoding="utf-8"):
        pass


WRONG = {
    "crash": crash, "MemoryError": hoard, "hang": dawdle, "forbidden: open": write_elsewhere,
    "forbidden: socket": call_out, "left files behind": stay,
}  # fmt: skip


def wrong_readers() -> dict[str, Reader]:
    return {told: Reader(seeds=lambda: [b"x"], read=read, warm=False) for told, read in WRONG.items()}


@pytest.mark.parametrize("told", WRONG)
def test_the_watch_sees_each_kind_of_defect(told: str, monkeypatch: pytest.MonkeyPatch) -> None:
    if told == "hang":
        monkeypatch.setattr(isolation, "HANG_SECONDS", 2.0)
    found = attack(told, range(1), readers=wrong_readers)
    assert any(told in why for why in found.defects.values()), found
