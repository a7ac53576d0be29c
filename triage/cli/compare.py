"""`triage compare`: two look-alikes side by side."""

from __future__ import annotations

import click

from triage.cli.shared import Shop, mends_input, pass_shop


@click.command(name="compare", short_help="Two look-alikes side by side.")
@click.argument("first")
@click.argument("second")
@pass_shop
@mends_input
def command(shop: Shop, first: str, second: str) -> None:
    """Shows in what two causes differ, the most telling cue first, and the check to make.

    \b
    Example:
      triage compare "spider mite" magnesium
      triage compare slug earwig
    """
    from triage.screens.compare_page import show_comparison
    from triage.teaching.look_alikes import compare, find_cause

    pair = find_cause(first, shop.knowledge), find_cause(second, shop.knowledge)
    show_comparison(compare(*pair, shop.engine), shop.knowledge, shop.screen)
