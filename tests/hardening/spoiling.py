"""Ways to spoil a file: what editors, hurried people, cut cables and other programs do to one."""

from __future__ import annotations

import random
import re

__all__ = ["NUMBERS", "WORDS", "garbage", "spoil"]

#: Put where a number stood.
NUMBERS = (
    b"0", b"-0.0", b"1", b"-1", b"1e308", b"-1e308", b"1e-308", b"5e-324", b"1e999", b"nan", b"inf",
    b"-inf", b"0x1f", b"1_000", b"13,5", b"007", b"1e", b".5", b"5.", b"+3", b"100", b"60",
    b"273.15", b"99999999999999999999999999", b"0.1e-10", b"1/2", b"12 %",
    b"\xd9\xa1\xd9\xa2", b"true", b"''", b"[1, 2]", b"{ value = 1 }", b"2026-11-25", b"1e5", b"0.5",
    b"1e-5", b"2147483648", b"",
)  # fmt: skip
#: Put where a word stood, or anywhere.
WORDS = (
    b"", b"\0", b"\xff\xfe", b"\xef\xbb\xbf", b"\x1b[31m", b"\xe2\x80\xae", b"\r", b"\r\n", b"\n\n",
    b"'", b'"', b'"""', b"[", b"]]", b"[[", b"{", b"}", b"=", b",", b";", b"\t", b"#", b"..",
    b"../../x", b"\\", b"\\u0000", b"\\ud800", b"%s%n", b"{0}", b"$HOME", b"__class__", b"=1+1",
    b"x" * 3000, b"[" * 400, b"a." * 300, b"\xf0\x9f\xa5\x94", b"glycerine", b"water", b"null",
    b"None", b"title",
)  # fmt: skip

_NUMBER = re.compile(rb"(?<![\w.])-?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")
_WORD = re.compile(rb"[A-Za-z_][\w-]*")
_LONGEST = 200_000


def _place(data: bytes, rng: random.Random) -> int:
    return rng.randrange(len(data) + 1)


def _span(data: bytes, rng: random.Random) -> tuple[int, int]:
    start = _place(data, rng)
    return start, min(len(data), start + int(rng.paretovariate(0.6)))


def _flip(data: bytes, rng: random.Random) -> bytes:
    if not data:
        return data
    at = rng.randrange(len(data))
    return data[:at] + bytes([data[at] ^ (1 << rng.randrange(8))]) + data[at + 1 :]


def _cut(data: bytes, rng: random.Random) -> bytes:
    start, end = _span(data, rng)
    return data[:start] + data[end:]


def _end_early(data: bytes, rng: random.Random) -> bytes:
    return data[: _place(data, rng)]


def _twice(data: bytes, rng: random.Random) -> bytes:
    start, end = _span(data, rng)
    return data[:end] + data[start:end] * rng.choice((1, 1, 2, 50)) + data[end:]


def _lines(data: bytes, rng: random.Random) -> bytes:
    lines = data.split(b"\n")
    one, other = rng.randrange(len(lines)), rng.randrange(len(lines))
    way = rng.randrange(4)
    if way == 0:
        lines[one], lines[other] = lines[other], lines[one]
    elif way == 1:
        del lines[one]
    elif way == 2:
        lines.insert(other, lines[one])
    else:
        lines[one] += lines[other]
    return b"\n".join(lines)


def _put(pattern: re.Pattern[bytes], instead: tuple[bytes, ...], data: bytes, rng: random.Random):
    found = list(pattern.finditer(data))
    if not found:
        return data + rng.choice(instead)
    spot = rng.choice(found)
    return data[: spot.start()] + rng.choice(instead) + data[spot.end() :]


def _number(data: bytes, rng: random.Random) -> bytes:
    return _put(_NUMBER, NUMBERS, data, rng)


def _scaled(data: bytes, rng: random.Random) -> bytes:
    """A number moved by powers of ten, or a little: what may still be taken for meant."""
    found = list(_NUMBER.finditer(data))
    if not found:
        return data
    spot = rng.choice(found)
    factor = rng.choice((0.1, 10.0, 1e-3, 1e3, -1.0, rng.lognormvariate(0.0, 1.5)))
    made = repr(float(spot.group()) * factor).encode()
    return data[: spot.start()] + made + data[spot.end() :]


def _word(data: bytes, rng: random.Random) -> bytes:
    own = tuple(found.group() for found in _WORD.finditer(data)) or WORDS
    return _put(_WORD, WORDS if rng.random() < 0.5 else own, data, rng)


def _insert(data: bytes, rng: random.Random) -> bytes:
    at = _place(data, rng)
    return data[:at] + rng.choice(WORDS) + data[at:]


_WAYS = (
    _flip,
    _cut,
    _end_early,
    _twice,
    _lines,
    _number,
    _number,
    _scaled,
    _scaled,
    _word,
    _insert,
)


def spoil(data: bytes, rng: random.Random) -> bytes:
    """The same file with one to a few things wrong; now and then with nothing wrong."""
    for _ in range(rng.choice((0, 1, 1, 1, 1, 2, 2, 3, 6))):
        data = rng.choice(_WAYS)(data, rng)[:_LONGEST]
    return data


def garbage(rng: random.Random) -> bytes:
    """No file at all: noise, or bits of syntax thrown together."""
    if rng.random() < 0.3:
        return rng.randbytes(rng.randrange(400))
    bits = (*NUMBERS, *WORDS, b"[pellets]\n", b"moisture_pct = ", b"[[ingredient]]\n", b"value = ",
            b"facet normal ", b"vertex ", b"v 0 0 0\n", b"f 1 2 3\n", b"ply\n",
            b"sample,minutes\n")  # fmt: skip
    return b" ".join(rng.choice(bits) for _ in range(rng.randrange(30)))
