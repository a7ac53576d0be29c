"""`triage completion`: the line that teaches a shell to complete commands."""

from __future__ import annotations

import click
from click.shell_completion import get_completion_class


@click.command(name="completion", short_help="Completion script for your shell.")
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
def command(shell: str) -> None:
    """Prints the completion script for a shell.

    \b
    Example:
      triage completion bash > ~/.local/share/bash-completion/completions/triage
    """
    from triage.cli.main import main

    cls = get_completion_class(shell)
    assert cls is not None
    click.echo(cls(main, {}, "triage", "_TRIAGE_COMPLETE").source())
