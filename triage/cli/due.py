"""`triage due`: what is waiting."""

from __future__ import annotations

import json
from datetime import timedelta

import click

from triage.cli.choosing import journal_option
from triage.cli.shared import Shop, mends_input, pass_shop


@click.command(name="due", short_help="What is waiting, today and this week.")
@click.option("--days", type=click.IntRange(0, 400), default=7, metavar="N", help="So many days ahead; 7 if not given.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")
@journal_option
@pass_shop
@mends_input
def command(shop: Shop, days: int, as_json: bool) -> None:
    """Shows the test patches to look at and the plants to look at again, the longest overdue first.

    \b
    Example:
      triage due
      triage due --days 0
    """
    from triage.records.due import due
    from triage.screens.journal_page import show_due

    with shop.journal.read() as session:
        items = due(session, shop.today + timedelta(days=days))
    if not as_json:
        show_due(items, shop.today, shop.crop_words, shop.screen)
        return
    for item in items:
        planting = item.planting
        record = {"due": item.day.isoformat(), "kind": item.kind, "says": item.says, "id": item.ref}
        record |= {"planting": planting.uid, "crop": planting.crop, "bed": planting.bed.name}
        click.echo(json.dumps(record))
