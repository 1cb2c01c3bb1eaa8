"""Ways to spoil a text file: what a bad disk, a wrong editor or somebody unfriendly makes of it."""

from __future__ import annotations

import re

from hypothesis import strategies as st

ODD = (
    "nan", "inf", "-inf", "1e308", "-1e308", "1e-320", "0", "-0.0", "-1", "9223372036854775808",
    "1" + "0" * 400,
    "0x10", "1_000", "true", '""', "''", "[]", "{}", "[[]]", "[[0, 0], [0, 0]]", "[1e400, 1e400, 1e400]",
    "1979-05-27T07:32:00Z", "1979-05-27", "07:32:00", "0001-01-01T00:00:00+23:59",
    "9999-12-31T23:59:59-23:59",
    '"=1+1"', '"../../etc/passwd"', '"/dev/zero"', '"\\u0000"', '"\\ud800"', '"\\n"', '"' + "x" * 5000 + '"',
    '"\u202e\u200b"', "{a = 1}", '"Mars/Olympus"', "[" * 300 + "]" * 300, "{a=" * 200 + "1" + "}" * 200,
    "1" * 5000, "[" * 3000, "{a=" * 3000,
)  # fmt: skip
"""Values that are well written and make no sense where they come to stand."""

RAW = (
    b"\x00",
    b"\xff\xfe",
    b"\xef\xbb\xbf",
    b"\r",
    b"\r\n\r\n",
    b'"',
    b"'''",
    b"[[",
    b"=",
    b",",
    b"\\",
    b"\x1a",
    b"#",
)
"""Bytes that break a text."""

_TOKEN = re.compile(r'"[^"\n]*"|[-+]?\d[\d.eE+-]*|\w+')


@st.composite
def spoilt(draw: st.DrawFn, text: str) -> bytes:
    """The text with one to three things wrong in it."""
    data = text.encode()
    for _ in range(draw(st.integers(1, 3))):
        how = draw(st.sampled_from(["token", "token", "token", "line", "bytes", "raw"]))
        data = {"token": _token, "line": _line, "bytes": _bytes, "raw": _raw}[how](draw, data)
    return data


def _token(draw: st.DrawFn, data: bytes) -> bytes:
    text = data.decode("utf-8", "surrogateescape")
    tokens = list(_TOKEN.finditer(text))
    if not tokens:
        return data
    found = draw(st.sampled_from(tokens))
    value = draw(st.sampled_from(ODD) | st.floats().map(repr) | st.integers().map(str))
    return (text[: found.start()] + value + text[found.end() :]).encode("utf-8", "surrogateescape")


def _line(draw: st.DrawFn, data: bytes) -> bytes:
    lines = data.split(b"\n")
    at, other = (draw(st.integers(0, len(lines) - 1)) for _ in range(2))
    how = draw(st.sampled_from(["drop", "twice", "swap", "often"]))
    if how == "drop":
        del lines[at]
    elif how == "swap":
        lines[at], lines[other] = lines[other], lines[at]
    else:
        lines[at:at] = [lines[at]] * (1 if how == "twice" else 300)
    return b"\n".join(lines)


def _bytes(draw: st.DrawFn, data: bytes) -> bytes:
    if not data:
        return data
    at = draw(st.integers(0, len(data) - 1))
    if draw(st.booleans()):
        return data[:at]
    return data[:at] + bytes([draw(st.integers(0, 255))]) + data[at + 1 :]


def _raw(draw: st.DrawFn, data: bytes) -> bytes:
    at = draw(st.integers(0, len(data)))
    return data[:at] + draw(st.sampled_from(RAW)) + data[at:]
