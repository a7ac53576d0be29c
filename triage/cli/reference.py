"""The README's command reference, made from the commands themselves.

    python -m triage.cli.reference README.md     writes it between the two marks

A test fails when the README and the commands differ.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import click

from triage.cli.main import main

BEGIN = "<!-- commands: made by python -m triage.cli.reference README.md -->"
END = "<!-- end of commands -->"


def reference() -> str:
    """A line a command with its example, in the order of `triage --help`."""
    lines = ["| command | what it is for | for example |", "| --- | --- | --- |"]
    for path, command in _commands(main, "triage"):
        lines.append(f"| `{path}` | {command.get_short_help_str(200)} | `{example(command)}` |")
    return "\n".join(lines)


def _commands(group: click.Group, path: str) -> Iterator[tuple[str, click.Command]]:
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        if isinstance(command, click.Group):
            yield from _commands(command, f"{path} {name}")
        else:
            yield f"{path} {name}", command


def example(command: click.Command) -> str:
    """The first line of the example in a command's help; empty when it has none."""
    lines = iter((command.help or "").splitlines())
    for line in lines:
        if line.strip() == "Example:":
            return next(lines, "").strip().split("   ")[0]
    return ""


def written_into(text: str) -> str:
    """The README with a fresh reference between its marks."""
    before, _, rest = text.partition(BEGIN)
    _, _, after = rest.partition(END)
    return f"{before}{BEGIN}\n{reference()}\n{END}{after}"


if __name__ == "__main__":
    readme = Path(sys.argv[1])
    readme.write_text(written_into(readme.read_text(encoding="utf-8")), encoding="utf-8")
