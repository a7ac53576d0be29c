"""`triage journal`: the story of what was seen and done; carried, copied and put back."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import click

from triage.cli.choosing import DefaultGroup, cause_name, crop_id, journal_option, may_ask
from triage.cli.shared import Shop, fail, mends_input, pass_shop, say
from triage.reasoning.yaml_text import BadInput

_LAST = 40  # entries told when nothing narrows the story


class _Journal(DefaultGroup):
    default = "story"


@click.group(name="journal", cls=_Journal, short_help="What was seen and done, as a time line.")
def command() -> None:
    """Tells a planting's story as a time line. Words that name no command below name the planting.

    \b
    Example:
      triage journal beans north bed
      triage journal --bed "north bed" --since "1 may" --class soft_bodied
      triage journal export journal.json

    All filters: triage journal story --help
    """


@command.command(name="story", short_help="The time line, with all its filters.")
@click.argument("planting", nargs=-1)
@click.option("--bed", metavar="NAME")
@click.option("--crop", metavar="NAME", help="By any everyday name.")
@click.option("--class", "class_id", metavar="CLASS", help="Visits with such a verdict; part of the name will do.")
@click.option("--observer", metavar="NAME")
@click.option("--garden", metavar="NAME", help="One garden of a journal that several share.")
@click.option("--since", metavar="DAY", help="From this day on.")
@click.option("--until", metavar="DAY", help="Up to this day.")
@click.option(
    "--last", type=click.IntRange(1), metavar="N", help=f"Only the latest N; {_LAST} if nothing else is said."
)
@click.option("--all", "everything", is_flag=True, help="Every entry.")
@click.option("--trace", is_flag=True, help="What was edited or taken back, instead.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line, an entry each.")
@journal_option
@pass_shop
@mends_input
def story_command(
    shop: Shop, /, planting: tuple[str, ...], everything: bool, trace: bool, as_json: bool, **f: Any
) -> None:
    """Tells what was seen and done, oldest first.

    \b
    Example:
      triage journal story beans --since "last monday"
      triage journal story --observer Ana --json
    """
    from triage.records.story import records, story
    from triage.screens.journal_page import show_story

    if trace:
        _show_trace(shop, as_json)
        return
    with shop.journal.read() as session:
        filters, causes = _filters(shop, session, " ".join(planting), everything, f)
        lines = story(session, filters, causes)
        if as_json:
            for record in records(lines):
                click.echo(json.dumps(record))
        else:
            show_story(lines, shop.crop_words, cause_name(shop), shop.screen)
            if filters.last == _LAST == len(lines) and f["last"] is None:
                say(f"The latest {_LAST} entries. All of them: triage journal --all")


def _filters(shop: Shop, session: Any, words: str, everything: bool, f: dict[str, Any]) -> tuple[Any, frozenset[str]]:
    from triage.records.places import find_planting
    from triage.records.story import Filters

    days = {n: _bound(shop, f[n], f"--{n}") if f[n] else None for n in ("since", "until")}
    if days["since"] and days["until"] and days["since"] > days["until"]:
        raise fail("--since lies behind --until", "turn them round", "--since")
    class_id = _class_id(shop, f["class_id"]) if f["class_id"] else None
    causes = frozenset(k for k, sheet in shop.knowledge.sheets.items() if sheet.class_id == class_id)
    narrowed = bool(words or everything or any(value for value in f.values()))
    filters = Filters(
        planting=find_planting(session, words, shop.crop_words).id if words else None,
        garden=f["garden"],
        bed=f["bed"],
        crop=crop_id(shop, f["crop"]) if f["crop"] else None,
        class_id=class_id,
        observer=f["observer"],
        since=days["since"],
        until=days["until"],
        last=f["last"] or (None if narrowed else _LAST),
    )
    return filters, causes


def _bound(shop: Shop, text: str, option: str) -> date:
    """A day that bounds the story: one that has been if it can be meant so, else one to come."""
    from triage.records.dates import parse_date

    try:
        return parse_date(text, shop.today, option)
    except BadInput:
        return parse_date(text, shop.today, option, future=True)


def _class_id(shop: Shop, text: str) -> str:
    from triage.reasoning.case import did_you_mean

    known = {sheet.class_id for sheet in shop.knowledge.sheets.values()}
    wanted = text.strip().lower().replace(" ", "_").replace("-", "_")
    found = [wanted] if wanted in known else sorted(key for key in known if wanted in key)
    if len(found) != 1:
        hint = f"say which: {', '.join(found)}" if found else did_you_mean(wanted, known)
        raise fail(f"'{text}' is no class", hint or f"there are: {', '.join(sorted(known))}", "--class")
    return found[0]


def _show_trace(shop: Shop, as_json: bool) -> None:
    from triage.records.transfer import rows_of, traces
    from triage.screens.journal_page import show_traces

    with shop.journal.read() as session:
        if as_json:
            for row in rows_of(session, "trace"):
                click.echo(json.dumps(row))
        else:
            show_traces(traces(session), shop.screen)


@command.command(name="export", short_help="All of it as JSON or CSV.")
@click.argument("target", type=click.Path(path_type=Path))
@click.option("--format", "form", type=click.Choice(["json", "csv"]), help="csv unless TARGET ends in .json.")
@click.option("--table", metavar="NAME", help="One table only, as CSV; TARGET - is standard output.")
@journal_option
@pass_shop
@mends_input
def export_command(shop: Shop, target: Path, form: str | None, table: str | None) -> None:
    """Writes the journal to TARGET: a JSON file, or a folder with a CSV file for each table.

    \b
    Example:
      triage journal export journal.json
      triage journal export spreadsheets/
      triage journal export --table counts -

    What a spreadsheet would run as a formula gets an apostrophe in front; import takes it off again.
    """
    from triage.records import transfer
    from triage.records.tables import TABLES

    if table is not None and (table not in TABLES or form == "json"):
        raise fail(f"there is no CSV table '{table}'", f"there are: {', '.join(TABLES)}", "--table")
    form = form or ("json" if target.suffix.lower() == ".json" or (str(target) == "-" and not table) else "csv")
    with shop.journal.read() as session:
        if str(target) == "-":
            if form == "csv" and table is None:
                raise fail("one table at a time fits on standard output", "give --table", "--table")
            pieces = transfer.to_csv(session, table) if table else transfer.to_json(session)
            for piece in pieces:
                click.echo(piece, nl=False)
            return
        if form == "json":
            transfer.write_json(session, target)
        elif table is not None:
            transfer.write_table(session, table, target)
        else:
            transfer.write_csv(session, target)
    click.echo(f"Written: {target}")


@command.command(name="import", short_help="Rows from JSON or CSV: all or none.")
@click.argument("source", type=click.Path(path_type=Path))
@click.option("--table", metavar="NAME", help="The table a CSV file holds, if its name does not say so.")
@click.option("--replace", is_flag=True, help="Where a row stands here with other content, take the file's.")
@click.option("--json", "as_json", is_flag=True, help="What was done, as one JSON object.")
@journal_option
@pass_shop
@mends_input
def import_command(shop: Shop, source: Path, table: str | None, replace: bool, as_json: bool) -> None:
    """Takes rows in from SOURCE: what export wrote, or a CSV file of your own with the same columns.

    \b
    Example:
      triage journal import journal.json
      triage journal import harvests.csv

    One bad row and nothing is taken in. A second import of the same file changes nothing.
    """
    from triage.records.intake import take_in
    from triage.records.transfer import read_files

    given = read_files(source, table)
    with shop.journal.write() as session:
        taken = take_in(session, given, shop.journal.clock(), replace)
    if as_json:
        click.echo(json.dumps(vars(taken)))
        return
    click.echo(f"Taken in: {taken.added} new rows, {taken.replaced} replaced; {taken.same} stood here already.")
    if taken.older:
        say(f"{taken.older} rows were left as they are: edited or taken back here since.")


@command.command(name="backup", short_help="A copy of the whole journal.")
@click.argument("target", required=False, type=click.Path(path_type=Path))
@journal_option
@pass_shop
@mends_input
def backup_command(shop: Shop, target: Path | None) -> None:
    """Copies the whole journal to TARGET, or into the backup folder. Others may go on writing meanwhile.

    \b
    Example:
      triage journal backup
      triage journal backup journal-copy.db
    """
    from triage.records.backup import back_up

    if target is not None and target.exists():
        raise fail("this file is there already", "name another", str(target))
    click.echo(f"Written: {back_up(shop.journal, target)}")


@command.command(name="restore", short_help="Put a backup back.")
@click.argument("source", type=click.Path(path_type=Path))
@click.option("--yes", is_flag=True, help="Do not ask.")
@journal_option
@pass_shop
@mends_input
def restore_command(shop: Shop, source: Path, yes: bool) -> None:
    """Puts the backup SOURCE in place of all that stands in the journal, after a backup of that.

    \b
    Example:
      triage journal restore journal-copy.db
    """
    from triage.records.backup import restore

    if not yes:
        if not may_ask(no_input=False):
            raise fail("this replaces the whole journal", "say --yes", "restore")
        from triage.screens.prompts import yes_no

        if not yes_no("Put this backup in place of everything in the journal?", shop.screen.plain):
            say("Left: nothing was changed.")
            return
    kept = restore(shop.journal, source)
    click.echo(f"Put back. What stood there before: {kept}")
