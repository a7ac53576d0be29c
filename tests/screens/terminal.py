"""A real terminal for tests: the program under pexpect, its screen kept by pyte."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pexpect
import pyte

_PATIENCE = 20.0  # seconds; a slow machine is not a failure
ENTER, DOWN, SPACE, CTRL_C, ESC = "\r", "\x1b[B", " ", "\x03", "\x1b"


class Terminal:
    """Runs `triage ARGS` on a screen of the given size and lets a test type and read."""

    def __init__(self, *args: str, folder: Path, size: tuple[int, int] = (80, 24), env: dict[str, str] | None = None):
        columns, lines = size
        self.screen = pyte.Screen(columns, lines)
        self._stream = pyte.Stream(self.screen)
        variables = {
            **os.environ,
            **{f"XDG_{name}_HOME": str(folder / name.lower()) for name in ("STATE", "DATA", "CONFIG")},
            "TERM": "xterm-256color",
            "PROMPT_TOOLKIT_NO_CPR": "1",
            "LC_ALL": "C.UTF-8",
            **(env or {}),
        }
        variables.pop("COLUMNS", None)
        variables.pop("LINES", None)
        self._child = pexpect.spawn(
            sys.executable,
            ["-m", "triage", *args],
            env=variables,  # type: ignore[arg-type]
            dimensions=(lines, columns),
            encoding="utf-8",
            timeout=20,
        )
        self.text = ""

    def shows(self, wanted: str) -> str:
        """Read until the screen shows the words; fails with the screen when it never does."""
        return self.shows_any(wanted)

    def shows_any(self, *wanted: str) -> str:
        """Read until the screen shows any of these."""
        self.waits(lambda: any(words in self.display() for words in wanted), f"never showed {wanted!r}")
        self._read()  # what is drawn may not listen yet
        return self.display()

    def waits(self, done: Callable[[], bool], otherwise: str = "never came") -> None:
        """Read until something is so."""
        end = time.monotonic() + _PATIENCE
        while not done():
            if time.monotonic() > end:
                raise AssertionError(f"{otherwise}:\n{self.display()}")
            self._read()

    def _read(self) -> None:
        try:
            chunk = self._child.read_nonblocking(65536, timeout=0.04)
        except pexpect.TIMEOUT:
            return
        except pexpect.EOF:
            time.sleep(0.05)
            return
        self.text += chunk
        self._stream.feed(chunk)

    def display(self) -> str:
        return "\n".join(line.rstrip() for line in self.screen.display)

    def type(self, *keys: str) -> None:
        """Send keys one at a time, as a hand would, reading what comes of each."""
        for key in keys:
            self._child.send(key)
            self._read()

    def type_and_wait(self, key: str, words: str, *or_shown: str) -> None:
        """Press a key and wait until these words come once more, or one of the others is on the screen."""
        before = self.text.count(words)
        self.type(key)
        self.waits(lambda: self.text.count(words) > before or any(other in self.display() for other in or_shown))

    def pointed(self) -> str:
        """The line the pointer stands on, or nothing while the list is being drawn."""
        return next((line for line in self.display().splitlines() if line.startswith(" > ")), "")

    def pick(self, words: str, key: str = SPACE) -> None:
        """Move the pointer down to the line with these words and press the key."""
        # The foot of the list before may name examples, with semicolons between: not a line to pick.
        self.waits(
            lambda: (
                any(words in line and ";" not in line for line in self.display().splitlines()[1:])
                and bool(self.pointed())
            ),
            f"no line with {words!r}",
        )
        for _ in range(60):
            if words in self.pointed():
                self.type(key)
                return
            self._down()
        raise AssertionError(f"no line with {words!r}:\n{self.display()}")

    def _down(self) -> None:
        before = self._words()
        self.type(DOWN)
        self.waits(lambda: self._words() not in ("", before), "the pointer stands still")

    def _words(self) -> str:
        """The pointed answer without its mark, which a tick still being drawn may change."""
        return self.pointed()[3:].lstrip("○● ").removesuffix("(I think so)").strip()

    def ends(self) -> int:
        """Wait for the program to end; its exit code."""
        end = time.monotonic() + 20
        while self._child.isalive() and time.monotonic() < end:
            self._read()
        self._read()
        self._child.close()
        return int(self._child.exitstatus if self._child.exitstatus is not None else -1)
