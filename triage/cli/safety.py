"""`triage safety`: people, pets, bees, water, food and the law."""

from __future__ import annotations

import click

from triage.cli.shared import Shop, mends_input, pass_shop


@click.command(name="safety", short_help="Safety and the law around home-made sprays.")
@click.option("--country", default="", help="Whose rules come first: two letters or a name. [default: your garden's]")
@click.option("--sources", is_flag=True, help="The published sources in full.")
@pass_shop
@mends_input
def command(shop: Shop, country: str, sources: bool) -> None:
    """All the cautions with their sources, the rules of your country first.

    \b
    Example:
      triage safety
      triage safety --country GB --sources
    """
    from triage.screens.safety_page import show_safety

    show_safety(shop.knowledge, shop.screen, country or home_country(shop), sources)


def home_country(shop: Shop) -> str:
    """The country of the garden's profile, where there is one."""
    return shop.profile.settings.country or ""
