"""`triage`: the group of commands. Commands are imported only when they are called."""

from __future__ import annotations

import importlib
from datetime import date

import click

from triage import __version__
from triage.cli.shared import Shop

#: Command name to its module. Order is the order of `triage --help`.
COMMANDS = {
    "ask": "triage.cli.ask",
    "assess": "triage.cli.assess",
    "cause": "triage.cli.cause",
    "compare": "triage.cli.compare",
    "cue": "triage.cli.cue",
    "knowledge": "triage.cli.knowledge",
    "garden": "triage.cli.garden",
    "walk": "triage.cli.walk",
    "log": "triage.cli.log",
    "journal": "triage.cli.journal",
    "due": "triage.cli.due",
    "mix": "triage.cli.mix",
    "today": "triage.cli.today",
    "patch": "triage.cli.patch",
    "plan": "triage.cli.plan",
    "mites": "triage.cli.mites",
    "safety": "triage.cli.safety",
    "schema": "triage.cli.schema",
    "completion": "triage.cli.completion",
}


class _Commands(click.Group):
    """Loads a command's module when it is wanted: the first question must come fast."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        if name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(COMMANDS[name]).command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError as error:
            from triage.reasoning.case import did_you_mean

            hint = did_you_mean(args[0], COMMANDS)
            if not hint:
                raise
            raise click.UsageError(f"{error.message} {hint[0].upper()}{hint[1:]}", ctx) from None


@click.group(
    cls=_Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Nothing here replaces a label, local rules or your extension office.",
)
@click.option("--plain", is_flag=True, envvar="TRIAGE_PLAIN", help="No colour, no lines: for screen readers and logs.")
@click.version_option(__version__, prog_name="triage")
@click.pass_context
def main(context: click.Context, plain: bool) -> None:
    """From a damaged plant to a verdict: what did it, and is the oil-and-soap spray worth using on it?

    \b
    Example:
      triage ask               questions and answers about one plant
      triage assess bean.yaml  the verdict on a case written down
    """
    context.obj = Shop(plain=plain, today=date.today())
