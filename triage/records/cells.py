"""One value as a cell of a CSV file, and back, exactly.

A spreadsheet runs a cell that begins with = + - @ (also their wide forms), a tab or a return
as a formula. Such text gets an apostrophe in front, and so does text that begins with an
apostrophe itself; reading takes exactly those off again.
"""

from __future__ import annotations

import json
from typing import Any

_STARTS = tuple("=+-@＝＋－＠")
_FIRST = ("\t", "\r", "\n", "'")


def guard(text: str) -> str:
    """Text made harmless for a spreadsheet."""
    return f"'{text}" if _risky(text) else text


def unguard(text: str) -> str:
    """What `guard` was given."""
    return text[1:] if text.startswith("'") and _risky(text[1:]) else text


def _risky(text: str) -> bool:
    # Some spreadsheets drop blanks before they look at the first character.
    bare = text.lstrip(" ")
    return bare.startswith(_FIRST) or text.lstrip().startswith(_STARTS)


def to_cell(value: Any) -> str | int | float:
    """A plain value (see rows.plain) as a cell. Nothing is an empty cell."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return value
    if isinstance(value, dict):
        return json.dumps(value, ensure_ascii=False, allow_nan=False)
    return guard(str(value))


def from_cell(cell: str, holds_json: bool) -> Any:
    """A cell as a plain value; numbers and dates stay text, which the shapes read. Raises ValueError."""
    if cell == "":
        return None
    return json.loads(cell) if holds_json else unguard(cell)
