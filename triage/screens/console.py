"""The terminal as the program uses it: with colour or without, with lines or plain."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from typing import TextIO

from rich.console import Console
from rich.theme import Theme

# Meaning never hangs on colour alone: every coloured word also says what it means. Blue and
# orange stay apart for nearly everyone who confuses red and green (Okabe and Ito's palette,
# from memory).
_THEME = Theme(
    {
        "label": "bold",
        "good": "bold blue",
        "warn": "bold dark_orange3",
        "soft": "dim",
        "bar": "blue",
    }
)
_WIDEST = 100  # longer lines are hard to read


@dataclass(frozen=True)
class Screen:
    """Where results go. `plain`: no colour, no lines and bars, for screen readers and logs."""

    console: Console
    plain: bool

    def print(self, *things: object) -> None:
        for thing in things:
            self.console.print(thing, highlight=False, soft_wrap=False)

    def rule(self) -> str:
        return "" if self.plain else "[soft]" + "─" * self.width + "[/]"

    @property
    def width(self) -> int:
        return min(self.console.width, _WIDEST)

    def bar(self, share: float, cells: int = 20) -> str:
        """A share of 1 as a bar; in plain mode nothing, since the number stands beside it."""
        if self.plain:
            return ""
        full = round(share * cells)
        return "[bar]" + "█" * full + "[/][soft]" + "░" * (cells - full) + "[/]"


def screen(plain: bool = False, file: TextIO | None = None) -> Screen:
    """The screen on standard output, or on `file`."""
    plain = plain or os.environ.get("TERM") == "dumb"
    console = Console(
        file=file or sys.stdout,
        theme=_THEME,
        no_color=True if plain else None,
        highlight=False,
        emoji=False,
    )
    console.width = min(console.width, _WIDEST)
    return Screen(console, plain)


def percent(share: float) -> str:
    """A probability as people say it: never 0% or 100%, for nothing is certain."""
    if share < 0.01:
        return "<1%"
    return f"{min(99, round(100 * share))}%"
