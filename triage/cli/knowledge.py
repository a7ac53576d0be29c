"""`triage knowledge`: is the knowledge base sound?"""

from __future__ import annotations

import sys
from pathlib import Path

import click

from triage.cli.knowledge_coverage import coverage
from triage.cli.knowledge_simulate import command as simulate
from triage.cli.shared import Shop, mends_input, pass_shop, say


@click.group(name="knowledge", short_help="Check the knowledge base.")
def command() -> None:
    """Tools for those who write and mend the sheets in knowledge/.

    \b
    Example:
      triage knowledge check
      triage knowledge coverage --crop bean
    """


command.add_command(coverage)
command.add_command(simulate)


@command.command(name="check", short_help="Every check on every sheet, rule and source.")
@click.option("--folder", type=click.Path(path_type=Path, file_okay=False), help="Another knowledge folder.")
@pass_shop
@mends_input
def check(shop: Shop, folder: Path | None) -> None:
    """Names every fault in the knowledge base: file, line, what is wrong, how to mend it.

    \b
    Example:
      triage knowledge check
    """
    from triage.reasoning.checks import CHECKS, run
    from triage.reasoning.inspected import Library
    from triage.reasoning.library import assemble, knowledge_folder, read_files

    files = read_files(folder or knowledge_folder())
    knowledge = assemble(files)
    problems = run(Library(knowledge, files))
    for problem in problems:
        say(str(problem))
    counts = f"{len(knowledge.sheets)} sheets, {len(knowledge.cues)} cues, {len(knowledge.patterns)} patterns, "
    counts += f"{len(knowledge.contradictions)} contradictions, {len(knowledge.decisions)} decisions, "
    counts += f"{len(knowledge.sources)} sources, {len(knowledge.crops.crops)} crops; {len(CHECKS)} checks"
    shop.screen.print(f"{counts}: {len(problems) or 'no'} problem{'s' if len(problems) != 1 else ''}.")
    if problems:
        sys.exit(1)


@command.command(name="measure", short_help="How often it is right on worked cases.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object a group.")
@pass_shop
@mends_input
def measure_command(shop: Shop, as_json: bool) -> None:
    """Runs the worked cases of knowledge/cases/ and tells how often the verdict is right.

    \b
    Example:
      triage knowledge measure

    No sheet, rule or number was mended on the half named "measure"; its totals were seen now and
    then. "In full" are whole published descriptions; "in part" are letters and clinic
    notes; from "too little" two plant doctors could not name the class.
    """
    from triage.reasoning.library import knowledge_folder
    from triage.reasoning.worked_cases import load_cases
    from triage.screens.measure_page import show_measures

    show_measures(load_cases(knowledge_folder(), shop.knowledge), shop.engine, shop.screen, as_json)
