"""`triage cause`: one sheet, readable."""

from __future__ import annotations

import click

from triage.cli.shared import Shop, mends_input, pass_shop


@click.command(name="cause", short_help="What the program knows about one cause.")
@click.argument("name", nargs=-1, required=True)
@click.option("--sources", is_flag=True, help="The published sources in full.")
@pass_shop
@mends_input
def command(shop: Shop, name: tuple[str, ...], sources: bool) -> None:
    """Shows the sheet of one cause, by id, name or a part of it.

    \b
    Example:
      triage cause spider mite
      triage cause two_spotted_spider_mite --sources
    """
    from triage.screens.sheet_page import show_sheet
    from triage.teaching.look_alikes import find_cause

    cause = find_cause(" ".join(name), shop.knowledge)
    show_sheet(shop.knowledge.sheets[cause], shop.knowledge, shop.screen, sources)
