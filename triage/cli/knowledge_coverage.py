"""`triage knowledge coverage`: how much of published problem lists the sheets cover."""

from __future__ import annotations

import json

import click

from triage.cli.shared import Shop, mends_input, pass_shop


@click.command(name="coverage", short_help="How much of published problem lists has a sheet.")
@click.option("--crop", "name", help="One crop only, by any name it goes by.")
@click.option("--missing", is_flag=True, help="Only what has no sheet.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
@pass_shop
@mends_input
def coverage(shop: Shop, name: str | None, missing: bool, as_json: bool) -> None:
    """Holds the sheets against published lists of what troubles each crop, and says what is still to be written.

    \b
    Example:
      triage knowledge coverage
      triage knowledge coverage --crop bean --missing
    """
    from triage.cli.choosing import crop_id
    from triage.reasoning.coverage import load_lists, measure, most_wanted
    from triage.reasoning.library import knowledge_folder
    from triage.screens.coverage_page import coverage_record, show_coverage

    published = load_lists(knowledge_folder())
    crops = shop.knowledge.crops.crops
    only = [crop_id(shop, name)] if name else list(crops)
    by_crop = measure(published, shop.knowledge.sheets, only)
    wanted = [] if name else most_wanted(published, {crop: entry.family for crop, entry in crops.items()})
    if as_json:
        print(json.dumps(coverage_record(by_crop, wanted), ensure_ascii=False))
    else:
        show_coverage(by_crop, wanted, shop.knowledge, shop.screen, missing)
