"""`triage cue`: one question with its answers, as they stand in case files."""

from __future__ import annotations

import click
from rich.markup import escape

from triage.cli.shared import Shop, fail, mends_input, pass_shop


@click.command(name="cue", short_help="A question, its answers and their ids for case files.")
@click.argument("name", required=False)
@pass_shop
@mends_input
def command(shop: Shop, name: str | None) -> None:
    """Lists the answers of one cue with the ids that case files use; without NAME, all cues.

    \b
    Example:
      triage cue
      triage cue pattern
    """
    from triage.reasoning.case import did_you_mean

    cues = shop.knowledge.cues
    if name is None:
        for cue_id, cue in cues.items():
            shop.screen.print(f"[label]{cue_id}[/]: {escape(cue.ask)}")
        return
    if name not in cues:
        raise fail(f"there is no cue '{name}'", did_you_mean(name, cues) or "see: triage cue")
    cue = cues[name]
    several = "several may be ticked" if cue.several else "one answer"
    shop.screen.print(f"[label]{escape(cue.ask)}[/] ({several})", escape(cue.why), escape(cue.how), "")
    for value, answer in cue.answers.items():
        shop.screen.print(f"  [label]{value}[/]: {escape(answer.says)}. {escape(answer.looks)}")
