"""Broken copies of sound files: flipped bits, cut ends, lost sectors, doubled pieces, wrong numbers, deep nesting."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Sequence

Random = random.Random
Mutation = Callable[[Random, bytes, Sequence[bytes]], bytes]

NUMBERS = (
    b"0", b"-1", b"1e308", b"-1e-320", b"1e999", b"nan", b"inf", b"4294967296", b"9" * 400, b"9" * 5000, b"65535",
    b"0x10", b"1,5", "١٢".encode(), b"",
)  # fmt: skip
SIGNS = tuple(b"[]{}()<>\"'=&;:,\\/%\n\r\t\x00\xff\xfe\x1a")
_NUMBER = re.compile(rb"-?\d+(?:\.\d+)?")


def flipped(rng: Random, data: bytes, _: Sequence[bytes]) -> bytes:
    """Flip one bit to eight."""
    broken = bytearray(data)
    for _each in range(rng.choice((1, 1, 1, 2, 8))):
        broken[rng.randrange(len(broken))] ^= 1 << rng.randrange(8)
    return bytes(broken)


def cut(rng: Random, data: bytes, _: Sequence[bytes]) -> bytes:
    """Leave out the end, often only the last few bytes."""
    keep = len(data) - rng.randrange(1, 60) if rng.random() < 0.3 else rng.randrange(len(data))
    return data[: max(keep, 0)]


def lost(rng: Random, data: bytes, _: Sequence[bytes]) -> bytes:
    """Write zeros, or what was there before, over a piece, as a failing card does."""
    start, length = rng.randrange(len(data)), rng.choice((1, 4, 64, 512, 4096))
    filling = bytes(length) if rng.random() < 0.5 else rng.randbytes(length)
    return data[:start] + filling[: len(data) - start] + data[start + length :]


def moved(rng: Random, data: bytes, _: Sequence[bytes]) -> bytes:
    """Double, drop or move a piece."""
    start, end = sorted(rng.randrange(len(data) + 1) for _each in range(2))
    piece, rest = data[start:end], data[:start] + data[end:]
    place = rng.randrange(len(rest) + 1)
    return rng.choice((rest, data[:end] + piece + data[end:], rest[:place] + piece + rest[place:]))


def renumbered(rng: Random, data: bytes, _: Sequence[bytes]) -> bytes:
    """Replace one written number by one that no file should hold."""
    found = list(_NUMBER.finditer(data))
    if not found:
        return flipped(rng, data, ())
    one = rng.choice(found)
    return data[: one.start()] + rng.choice(NUMBERS) + data[one.end() :]


def lied(rng: Random, data: bytes, _: Sequence[bytes]) -> bytes:
    """Write a size that is not so over two or four bytes, mostly near the start where sizes stand."""
    width = rng.choice((2, 4))
    value = rng.choice((0, 1, 2 ** (8 * width) - 1, 2 ** (8 * width - 1), rng.randrange(2 ** (8 * width))))
    start = rng.randrange(min(len(data), 1200 if rng.random() < 0.8 else len(data)))
    return data[:start] + value.to_bytes(width, rng.choice(("big", "little"))) + data[start + width :]


def tokened(rng: Random, data: bytes, tokens: Sequence[bytes]) -> bytes:
    """Put words and signs of the format where they do not belong."""
    words = [*tokens, *(bytes([sign]) for sign in SIGNS)]
    for _each in range(rng.choice((1, 2, 5))):
        place = rng.randrange(len(data) + 1)
        data = data[:place] + rng.choice(words) * rng.choice((1, 1, 1, 40)) + data[place:]
    return data


ANY: tuple[Mutation, ...] = (flipped, cut, lost, moved, lied)
TEXT: tuple[Mutation, ...] = (*ANY, renumbered, renumbered, tokened, tokened)


def broken(
    rng: Random, seeds: Sequence[bytes], *, tokens: Sequence[bytes], bombs: Sequence[Callable[[Random], bytes]]
) -> bytes:
    """Return one case: a bomb now and then, else a seed with one to three mutations."""
    if bombs and rng.random() < 0.08:
        return rng.choice(bombs)(rng)
    data = rng.choice(seeds)
    for _each in range(rng.choice((1, 1, 1, 2, 3))):
        data = rng.choice(TEXT if tokens else ANY)(rng, data or b"0", tokens)
    return data
