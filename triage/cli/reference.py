"""The README's command table and the outputs it shows, made from the commands themselves.

    python -m triage.cli.reference README.md     renews both in place

A test fails when the README and the commands differ.
"""

from __future__ import annotations

import re
import shlex
import sys
from collections.abc import Iterator
from pathlib import Path

import click
from click.testing import CliRunner

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


#: Outputs that take long are marked "slow output of" and renewed by hand only.
_OUTPUT = re.compile(r"(<!-- (?P<slow>slow )?output of: triage (?P<call>[^\n]*?) -->\n```\n).*?(```\n)", re.DOTALL)


def output(call: str) -> str:
    """What a command prints on a screen of 80 columns, without colour."""
    result = CliRunner().invoke(main, shlex.split(call), env={"COLUMNS": "80", "NO_COLOR": "1"})
    lines = (line.rstrip() for line in result.stdout.splitlines())
    return "\n".join(lines).strip("\n") + "\n"


def written_into(text: str, slow: bool = False) -> str:
    """The README with a fresh table and fresh outputs; the slow ones only when asked for."""
    before, _, rest = text.partition(BEGIN)
    _, _, after = rest.partition(END)
    renewed = f"{before}{BEGIN}\n{reference()}\n{END}{after}"

    def fresh(found: re.Match[str]) -> str:
        return found[0] if found["slow"] and not slow else found[1] + output(found["call"]) + found[4]

    return _OUTPUT.sub(fresh, renewed)


if __name__ == "__main__":
    readme = Path(sys.argv[1])
    readme.write_text(written_into(readme.read_text(encoding="utf-8"), slow=True), encoding="utf-8")
