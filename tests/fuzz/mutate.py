"""Seeded mutation of bytes, fields and structure; what gave a new outcome is mutated further."""

import random
import re
from collections.abc import Callable, Sequence

LONGEST = 20_000  # bytes an input may grow to: size has its own tests
_TOKEN = re.compile(rb"[A-Za-z_][A-Za-z_0-9]*|[+-]?\d[\d.]*|\"[^\"\n]*\"|[^\w\s]")
_WORDS: tuple[bytes, ...] = (
    b"0", b"-1", b"1e308", b"-1e309", b"9" * 400, b"9" * 4400, b"1e-320", b"nan", b"inf", b"-inf",
    b"NaN", b"Infinity", b"null", b"true", b"[]", b"{}", b'""', b"''", b'"', b"'", b"\\",
    b"\\u0000", b'"\\ud800"', b"\x00", b"\xff", b"\xc3", b"\xef\xbb\xbf",
    b"\xe2\x80\xae", b"\xe2\x80\xa8",
    b"\r", b"\n", b"\t", b";", b",", b"|", b"=", b"&", b"%00", b"../..", b"/dev/zero", b"$(id)",
    b"=cmd|' /C calc'!A1", b"<script>", b"{{7*7}}", b"\x1b[2J", b"9999-12-31", b"0001-01-01",
    b"2026-02-30", b"24:00", b"2026-12-01T07:00:00+14:00", b"1.2.3", b"1,2,3", b"0x10", b"1_000",
    b"-0.0", b"\xd9\xa1\xd9\xa2", b"\xc2\xb2", b"#", b"[[", b"]]", b"a.b.c.d", b"format = 2",
    b"a" * 600, b"[" * 300, b"{a=" * 100, b"9" * 20, b"1e5", b"12,5", b"\xc2\xb5A", b"mA", b"sep=",
)  # fmt: skip
Random = random.Random


def _span(rng: Random, content: bytes, longest: int = 40) -> tuple[int, int]:
    start = rng.randrange(len(content) + 1)
    return start, min(len(content), start + rng.randrange(1, longest))


def _flip(rng: Random, content: bytes, others: Sequence[bytes]) -> bytes:
    at = rng.randrange(len(content))
    return content[:at] + bytes([content[at] ^ (1 << rng.randrange(8))]) + content[at + 1 :]


def _insert(rng: Random, content: bytes, others: Sequence[bytes]) -> bytes:
    at = rng.randrange(len(content) + 1)
    word = rng.choice(_WORDS) if rng.random() < 0.7 else rng.randbytes(rng.randrange(1, 5))
    return content[:at] + word + content[at:]


def _delete(rng: Random, content: bytes, others: Sequence[bytes]) -> bytes:
    start, end = _span(rng, content)
    return content[:start] + content[end:]


def _repeat(rng: Random, content: bytes, others: Sequence[bytes]) -> bytes:
    start, end = _span(rng, content)
    return content[:end] + content[start:end] * rng.choice((1, 1, 2, 60)) + content[end:]


def _field(rng: Random, content: bytes, others: Sequence[bytes]) -> bytes:
    """Put something else in the place of a word, number or mark."""
    tokens = list(_TOKEN.finditer(content))
    if not tokens:
        return _insert(rng, content, others)
    old = rng.choice(tokens)
    roll = rng.random()
    if roll < 0.55:
        new = rng.choice(_WORDS)
    elif roll < 0.8:
        new = rng.choice(tokens).group()
    else:
        new = f"{rng.choice((-1, 1, 1)) * 10 ** rng.uniform(-6, 9):.4g}".encode()
    return content[: old.start()] + new + content[old.end() :]


def _line(rng: Random, content: bytes, others: Sequence[bytes]) -> bytes:
    """Take out, double, move or join lines."""
    lines = content.split(b"\n")
    at, to = rng.randrange(len(lines)), rng.randrange(len(lines))
    line = lines[at]
    match rng.randrange(4):
        case 0:
            del lines[at]
        case 1:
            lines.insert(to, line)
        case 2:
            lines.insert(to, lines.pop(at))
        case _:
            lines[at : at + 2] = [b" ".join(lines[at : at + 2])]
    return b"\n".join(lines)


def _splice(rng: Random, content: bytes, others: Sequence[bytes]) -> bytes:
    other = rng.choice(others)
    if rng.random() < 0.5:
        start, end = _span(rng, other, 200)
        at = rng.randrange(len(content) + 1)
        return content[:at] + other[start:end] + content[at:]
    return content[: rng.randrange(len(content) + 1)] + other[rng.randrange(len(other) + 1) :]


def _cut(rng: Random, content: bytes, others: Sequence[bytes]) -> bytes:
    return content[: rng.randrange(len(content) + 1)]


def _encode(rng: Random, content: bytes, others: Sequence[bytes]) -> bytes:
    text = content.decode("utf-8", errors="replace")
    return text.encode(rng.choice(("utf-16", "utf-16-be", "cp1252", "utf-8-sig")), errors="replace")


_WAYS: tuple[tuple[Callable[[Random, bytes, Sequence[bytes]], bytes], int], ...] = (
    (_field, 10),
    (_line, 4),
    (_insert, 3),
    (_delete, 3),
    (_flip, 2),
    (_repeat, 2),
    (_splice, 2),
    (_cut, 1),
    (_encode, 1),
)


def mutated(rng: Random, content: bytes, others: Sequence[bytes]) -> bytes:
    """Return content changed in one to five places."""
    ways, weights = zip(*_WAYS, strict=True)
    for way in rng.choices(ways, weights, k=rng.choice((1, 1, 1, 2, 3, 5))):
        content = way(rng, content or b"\n", others)[:LONGEST]
    return content
