"""`triage garden`: the garden's profile, and its plantings."""

from __future__ import annotations

import json
import os
from datetime import date
from pathlib import Path
from typing import Any

import click

from triage.cli.choosing import DefaultGroup, crop_id, journal_option, may_ask
from triage.cli.shared import Shop, fail, mends_input, pass_shop, say


class _Garden(DefaultGroup):
    default = "profile"


@click.group(name="garden", cls=_Garden, short_help="Your garden: where it is, its beds, what stands in them.")
def command() -> None:
    """Sets up and shows the garden's profile, a plain file you may also edit by hand.

    \b
    Example:
      triage garden
      triage garden --name "School garden" --country GB --beds "North bed, South bed" --tank "8 L"
      triage garden plant bean --bed "North bed" --variety "Blue Lake" --sown "3 may"
      triage garden plantings

    All settings: triage garden profile --help
    """


@command.command(name="profile", short_help="Show or change the settings.")
@click.option("--name", metavar="TEXT", help="What the garden is called.")
@click.option("--region", metavar="REGION", help="europe, north_america, south_america, africa, asia or oceania.")
@click.option("--country", metavar="XX", help="Two letters, such as GB or US.")
@click.option("--hemisphere", metavar="HALF", help="north, south or tropics.")
@click.option("--units", metavar="UNITS", help="metric, us or imperial.")
@click.option("--beds", metavar="NAMES", help="With commas between them.")
@click.option("--tank", metavar="AMOUNT", help="What your sprayer holds, such as 8 L.")
@click.option("--soap", metavar="SOAP", help="plain, detergent or insecticidal.")
@click.option("--oils", metavar="NAMES", help="With commas between them.")
@click.option("--observer", metavar="NAME", help="Your name, as it should stand in the journal.")
@click.option("--journal", metavar="WHERE", help="A file, or postgresql+psycopg://user@host/name.")
@click.option("--forget", multiple=True, metavar="SETTING", help="Take a setting out of the file.")
@click.option("--ask", "asking", is_flag=True, help="Ask for all of them.")
@click.option("--no-input", is_flag=True, help="Never ask.")
@click.option("--json", "as_json", is_flag=True, help="The settings in force, as one JSON object.")
@pass_shop
@mends_input
def profile_command(
    shop: Shop, /, forget: tuple[str, ...], asking: bool, no_input: bool, as_json: bool, **options: str | None
) -> None:
    """Shows the settings; those given as options are kept in the file. The first time it asks.

    \b
    Example:
      triage garden
      triage garden --country GB --units metric

    What an option says comes first, then the environment (TRIAGE_REGION and so on), then the file.
    """
    from triage.records.profile import Settings, load_profile, save_profile
    from triage.screens.garden_form import ask_profile, show_profile

    unknown = [name for name in forget if name not in Settings.model_fields]
    if unknown:
        raise fail(f"there is no setting '{unknown[0]}'", f"there are: {', '.join(options)}", "--forget")
    changes: dict[str, Any] = {name: value for name, value in options.items() if value is not None}
    load_profile(shop.profile_path, {}, changes)  # a wrong option is told as an option, before anything is written
    changes |= dict.fromkeys(forget)
    path = shop.profile_path
    if asking or (not changes and not path.exists() and may_ask(no_input, as_json)):
        if not may_ask(no_input, as_json):
            raise fail("asking needs a terminal", "give the settings as options", "--ask")
        try:
            changes |= ask_profile(
                load_profile(path, os.environ, changes).settings, lambda one: _check(shop, one), shop.screen
            )
        except (KeyboardInterrupt, EOFError):
            say("Left: nothing was written.")
            raise SystemExit(1) from None
    before = load_profile(path, os.environ).settings
    if changes:
        save_profile(path, changes)
    profile = load_profile(path, os.environ)
    if changes:
        _tell_journal(shop, before.name, profile.settings)
    if as_json:
        click.echo(json.dumps({**profile.settings.model_dump(mode="json"), "from": dict(profile.origin)}))
        return
    show_profile(profile, str(path), shop.screen)
    if changes:
        say("Kept.")
    elif not path.exists():
        say("Nothing is set yet: triage garden --ask")


def _check(shop: Shop, one: dict[str, Any]) -> None:
    from triage.records.profile import load_profile

    load_profile(shop.profile_path, {}, one)


def _tell_journal(shop: Shop, old_name: str, settings: Any) -> None:
    """Beds that were named stand in the journal in that order, and a new name goes there too."""
    from triage.records.places import bed_named, garden_named, rename_garden

    if not settings.beds and settings.name == old_name:
        return
    with shop.journal.write() as session:
        rename_garden(session, old_name, settings.name)
        garden = garden_named(session, settings.name)
        for bed in settings.beds:
            bed_named(session, garden, bed)


@command.command(name="plant", short_help="A new planting.")
@click.argument("crop")
@click.option("--bed", required=True, metavar="NAME", help="Where it stands; made when new.")
@click.option("--variety", metavar="NAME")
@click.option("--sown", metavar="DAY", help="today, last tuesday, 3 may, 2026-05-03.")
@click.option("--planted", metavar="DAY")
@click.option("--json", "as_json", is_flag=True)
@journal_option
@pass_shop
@mends_input
def plant_command(
    shop: Shop, crop: str, bed: str, variety: str | None, sown: str | None, planted: str | None, as_json: bool
) -> None:
    """Writes down that CROP was sown or planted.

    \b
    Example:
      triage garden plant bean --bed "North bed" --variety "Blue Lake" --sown "3 may"
    """
    from triage.records.places import bed_named, garden_named, label, plant
    from triage.records.rows import plain_one

    days = {"sown": _day(shop, sown, "--sown"), "planted": _day(shop, planted, "--planted")}
    with shop.journal.write() as session:
        place = bed_named(session, garden_named(session, shop.profile.settings.name), bed.strip())
        planting = plant(session, place, crop_id(shop, crop), variety, **days)
        record, told = plain_one(session, planting), label(planting, shop.crop_words)
    click.echo(json.dumps(record) if as_json else f"Kept: {told} [{record['id'][:6]}]")


@command.command(name="clear", short_help="A planting was pulled out.")
@click.argument("planting", nargs=-1, required=True)
@click.option("--date", "day", metavar="DAY", help="When; today if not given.")
@journal_option
@pass_shop
@mends_input
def clear_command(shop: Shop, planting: tuple[str, ...], day: str | None) -> None:
    """Writes down that PLANTING is over. Its story stays.

    \b
    Example:
      triage garden clear beans north bed --date yesterday
    """
    from triage.records.entries import replace_row
    from triage.records.places import find_planting, label
    from triage.records.rows import checked, plain_one

    when = _day(shop, day, "--date") or shop.today
    with shop.journal.write() as session:
        found = find_planting(session, " ".join(planting), shop.crop_words)
        told = label(found, shop.crop_words)
        if found.removed is not None:
            raise fail(f"{told} was cleared on {found.removed.isoformat()}", "", "planting")
        checked("plantings", {**plain_one(session, found), "removed": when}, "planting")
        replace_row(session, found, {"removed": when}, shop.profile.settings.observer, shop.journal.clock())
    click.echo(f"Kept: {told} was cleared on {when.isoformat()}")


@command.command(name="example", short_help="The invented example garden, in a journal of its own.")
@click.argument("where", type=click.Path(path_type=Path))
@pass_shop
@mends_input
def example_command(shop: Shop, where: Path) -> None:
    """Makes a new journal file WHERE and puts the invented Hollow Lane garden into it. Yours is not touched.

    \b
    Example:
      triage garden example hollow-lane.db

    Then add --journal hollow-lane.db to a command, or set TRIAGE_JOURNAL to look around in it.
    """
    from triage.reasoning.library import knowledge_folder
    from triage.records.intake import take_in
    from triage.records.store import open_journal
    from triage.records.transfer import read_files

    source = knowledge_folder().parent / "examples" / "garden" / "journal.json"
    if not source.is_file():
        raise fail("the example garden is not here", "it comes with the source, in examples/garden", "example")
    if where.exists():
        raise fail("this file is there already", "name another: the example is never mixed with yours", str(where))
    given = read_files(source)
    journal = open_journal(where, shop.data_folder / "backups")
    try:
        with journal.write() as session:
            taken = take_in(session, given, journal.clock())
    finally:
        journal.close()
    click.echo(f"Written: {where}, {taken.added} invented rows. Look around: triage journal --journal {where}")


@command.command(name="plantings", short_help="What stands where.")
@click.option("--all", "everything", is_flag=True, help="Also what was cleared.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")
@journal_option
@pass_shop
@mends_input
def plantings_command(shop: Shop, everything: bool, as_json: bool) -> None:
    """Lists the plantings bed by bed.

    \b
    Example:
      triage garden plantings
    """
    from triage.records.places import plantings
    from triage.records.rows import plain_one
    from triage.screens.garden_form import show_plantings

    with shop.journal.read() as session:
        found = plantings(session, standing=not everything)
        if as_json:
            for one in found:
                click.echo(json.dumps({**plain_one(session, one), "bed_name": one.bed.name}))
        else:
            show_plantings(found, shop.crop_words, shop.screen)


def _day(shop: Shop, text: str | None, option: str) -> date | None:
    from triage.records.dates import parse_date

    return None if text is None else parse_date(text, shop.today, option)
