"""The verdict on the screen: the essentials first, within 80 by 24; the rest on request."""

from __future__ import annotations

import re

from rich.markup import escape
from rich.table import Table

from triage.reasoning.knowledge import Effect, Knowledge
from triage.reasoning.verdict_model import Action, FindingOut, Verdict
from triage.reasoning.visit import Plan
from triage.screens.console import Screen, percent

_STATE = {
    "likely": ("good", "Likely"),
    "leaning": ("warn", "Leaning this way, not sure"),
    "unclear": ("warn", "Unclear"),
}
_ADVICE = {
    "spray": ("good", "Worth a try"),
    "check_first": ("warn", "Not yet: check first"),
    "do_not_spray": ("warn", "Do not spray"),
}
EVIDENCE = {
    "trial": "a published trial",
    "extension": "extension advice",
    "common_practice": "common practice, no source",
    "from_memory": "general knowledge, no source read",
}


def first_sentences(text: str, most: int) -> str:
    """As many whole sentences as fit into `most` characters, at least one."""
    sentences = re.split(r"(?<=[.!?]) +", text.strip())
    kept = sentences[0]
    for sentence in sentences[1:]:
        if len(kept) + 1 + len(sentence) > most:
            break
        kept += " " + sentence
    return kept


def show(verdict: Verdict, knowledge: Knowledge, screen: Screen, title: str = "", lines: int = 24) -> None:
    """The essentials: what, how sure, spray or not, do now, hold, what would change it.

    Kept within `lines` by leaving out the least needed first; --why tells all.
    """
    for detail in (4, 3, 2, 1):
        table = _essentials(verdict, knowledge, screen, detail)
        # Two lines go to the title and the rule.
        if len(screen.console.render_lines(table)) <= lines - 2:
            break
    if title:
        screen.print(f"[label]{escape(title)}[/]")
    screen.print(screen.rule() or "", table)


def _essentials(verdict: Verdict, knowledge: Knowledge, screen: Screen, detail: int) -> Table:
    """The table at a level of detail: 4 is all, 1 the least."""
    spraying = verdict.spray.advice == "spray"
    table = _grid(screen)
    table.add_row("What", _what(verdict, knowledge, screen, gloss=detail > 3))
    style, words = _STATE[verdict.state]
    table.add_row("How sure", f"[{style}]{words}[/]{_rivals(verdict, 140 if detail > 2 else 0)}")
    table.add_row("Spray?", _spray(verdict, knowledge, 150 if detail > 1 else 0))
    for line in verdict.look_again[:1]:
        table.add_row("Look again", escape(line.says))
    if verdict.holds:
        table.add_row("Wait", "[warn]" + escape("\n".join(verdict.holds[: 1 if detail == 1 else 3])) + "[/]")
    first = [a.says for a in verdict.actions if a.kind == "before_spray"]
    if first and spraying:
        table.add_row("First", escape("\n".join(first[: 2 if detail > 2 else 1])))
    steps = steps_now(verdict, {4: 4, 3: 3, 2: 3, 1: 2}[detail])
    table.add_row("Do now", "\n".join(f"{n}. {escape(step)}" for n, step in enumerate(steps, 1)))
    if verdict.send_sample:
        table.add_row("Sample", escape(verdict.send_sample[0]))
    elif verdict.would_change and verdict.state != "unclear" and detail > 2:
        check = verdict.would_change[0]
        other = "speaks for a spray" if check.turns_to == "spray" else "speaks against a spray"
        table.add_row("To be surer", f"{escape(check.ask)} “{escape(check.if_you_find)}” {other}.")
    if spraying:
        table.add_row("Take care", escape(_care(verdict, knowledge, special=detail > 1)))
    if verdict.unexplained:
        odd = verdict.unexplained[0]
        table.add_row("Two things?", f"“{escape(odd.says)}” does not fit. It would fit: {escape(odd.fits_better)}.")
    return table


def _grid(screen: Screen) -> Table:
    table = Table.grid(padding=(0, 1, 0, 0), expand=False)
    table.add_column(style="label", width=11, no_wrap=True)
    table.add_column(width=screen.width - 13, overflow="fold")
    return table


def _what(verdict: Verdict, knowledge: Knowledge, screen: Screen, gloss: bool) -> str:
    lead_class = verdict.classes[0]
    text = knowledge.scale.classes.get(lead_class.id)
    chance = lead_class.probability
    lines = [f"[label]{escape(lead_class.name)}[/] {percent(chance)} {screen.bar(chance, 12)}"]
    causes = [c for c in verdict.causes if c.probability >= 0.05][:3]
    if verdict.state == "unclear":
        lines = ["This program cannot tell. The nearest it has:"]
        causes = verdict.causes[:3]
    elif gloss and text and len(causes) <= 2:
        lines.append(f"[soft]({escape(text.plain)})[/]")
    lines += [f"{escape(c.name)} {percent(c.probability)}" for c in causes]
    return "\n".join(lines)


def _rivals(verdict: Verdict, room: int) -> str:
    """The nearest look-alike, with the check when there is room."""
    if not verdict.look_alikes or verdict.state == "unclear":
        return "."
    alike = verdict.look_alikes[0]
    check = f": {escape(first_sentences(alike.check, room))}" if room else "."
    return f". Could be {escape(alike.name)}{check}"


def _spray(verdict: Verdict, knowledge: Knowledge, room: int) -> str:
    spray = verdict.spray
    style, words = _ADVICE[spray.advice]
    effect = knowledge.scale.effects[spray.judgement]
    tail = f"The mix {effect}." if verdict.state != "unclear" or spray.judgement != Effect.NO_USE else ""
    # The sheet's note is for --why; here only what stays the hand is said.
    reason = escape(first_sentences(spray.reason, room)) if spray.advice != "spray" and room else ""
    evidence = "" if verdict.state == "unclear" else f"[soft](Rests on {EVIDENCE[spray.evidence]}.)[/]"
    return f"[{style}]{words}.[/] {tail} {reason} {evidence}".replace("  ", " ")


def steps_now(verdict: Verdict, most: int) -> list[str]:
    """What to do first: the decision rules' words, then the sheet's own steps."""
    if verdict.state == "unclear":
        return [a.says for a in verdict.actions if a.kind in ("now", "instead")][:most] or [
            "Take nothing but the worst leaves off, mark the plant, and look again in two days."
        ]
    return [a.says for a in verdict.actions if a.kind != "before_spray"][:most]


def _care(verdict: Verdict, knowledge: Knowledge, special: bool) -> str:
    usual = {caution.says for caution in knowledge.cautions}
    of_this_crop = [caution for caution in verdict.cautions if caution not in usual] if special else []
    short = [caution.says for caution in knowledge.cautions if caution.when == "in_short"]
    return " ".join([*of_this_crop[:1], *short])


def show_why(verdict: Verdict, knowledge: Knowledge, screen: Screen) -> None:
    """All the reasons: for and against, look-alikes, what would change it, cautions, sources."""
    for cause in dict.fromkeys(finding.cause for finding in verdict.findings):
        chance = next((c.probability for c in verdict.causes if c.id == cause), 0.0)
        screen.print("", f"[label]{escape(knowledge.cause_name(cause))}[/] {percent(chance)}")
        mine = [finding for finding in verdict.findings if finding.cause == cause]
        for side, word in (("for", "speaks for it"), ("against", "speaks against it")):
            for finding in [f for f in mine if f.side == side][:6]:
                screen.print(
                    f"  {_weight(finding, screen)} {word}: {escape(finding.says)} [soft]{_sources(finding)}[/]"
                )
    screen.print("", "[soft](A percentage stands for the cause or a relative of it that has no sheet here.)[/]")
    section("Spray", [verdict.spray.reason, knowledge.sprays.home_mix.says, *verdict.reasons], screen)
    section("Sources for the spray judgement", [source_line(key, knowledge) for key in verdict.spray.sources], screen)
    alike = [f"{a.name} ({percent(a.probability)}): {a.check}" for a in verdict.look_alikes]
    section("Could also be", alike, screen)
    section(
        "What would change the spray judgement",
        [f"{c.ask} With: {c.tool}. {c.how} (chance {percent(c.chance)})" for c in verdict.would_change],
        screen,
    )
    section("Steps", [_step(action, knowledge) for action in verdict.actions], screen)
    if verdict.threshold:
        section("When to act", [verdict.threshold.says], screen)
    section("Wait", verdict.holds, screen)
    section("Look again", [line.says for line in verdict.look_again], screen)
    section("Send a sample", verdict.send_sample, screen)
    odd = [f"{u.says}: does not fit the leading cause; would fit {u.fits_better}" for u in verdict.unexplained]
    section("Does not fit", odd, screen)
    section("Take care", verdict.cautions, screen)


def _step(action: Action, knowledge: Knowledge) -> str:
    return action.says if action.serves == "all" else f"{action.says} [{knowledge.cause_name(action.serves)}]"


def _weight(finding: FindingOut, screen: Screen) -> str:
    strength = abs(finding.decibans)
    word = "strongly" if strength >= 8 else "clearly" if strength >= 4 else "a little"
    return word if screen.plain else f"{word:<8}"


def _sources(finding: FindingOut) -> str:
    shown = [key for key in finding.sources if key != "see_sources"][:2]
    words = [key.replace("_", " ") if key in ("from_memory", "common_practice") else key for key in shown]
    return f"\\[{', '.join(words)}]" if words else ""


def source_line(key: str, knowledge: Knowledge) -> str:
    source = knowledge.sources.get(key)
    if source is None:
        return key
    year = f", {source.year}" if source.year else ""
    return f"{key}: {source.who}: {source.title}{year}"


def section(title: str, lines: list[str], screen: Screen) -> None:
    if not lines:
        return
    screen.print("", f"[label]{title}[/]")
    for line in dict.fromkeys(lines):
        screen.print(_hanging(line, screen))


def _hanging(text: str, screen: Screen) -> Table:
    table = Table.grid()
    table.add_column(width=4)
    table.add_column(width=screen.width - 5, overflow="fold")
    table.add_row("  -" if screen.plain else "  ·", escape(text))
    return table


def show_plan(plan: Plan, knowledge: Knowledge, screen: Screen) -> None:
    """One plan for several problems on one plant."""
    table = _grid(screen)
    table.add_row("Problems", "\n".join(f"{n}. {escape(name)}" for n, name in enumerate(plan.problems, 1)))
    spray = []
    if plan.spray_for:
        spray.append(f"[good]Worth a try[/] for: {escape(', '.join(plan.spray_for))}.")
    if plan.check_first:
        spray.append(f"[warn]Check first[/] for: {escape(', '.join(plan.check_first))}.")
    if plan.spray_not_for:
        spray.append(f"It will not help against: {escape(', '.join(plan.spray_not_for))}.")
    table.add_row("Spray?", "\n".join(spray))
    table.add_row("Do", "\n".join(f"{n}. {escape(line)}" for n, line in enumerate(_merged_steps(plan), 1)))
    for label, lines in (("Wait", plan.holds), ("Sample", plan.send_sample[:1])):
        if lines:
            table.add_row(label, escape("\n".join(lines)))
    screen.print(screen.rule() or "", "[label]One plan for this plant[/]", table)


def _merged_steps(plan: Plan) -> list[str]:
    """The first steps for each problem in turn, so that none is pushed off the screen."""
    by_problem: dict[tuple[str, ...], list[str]] = {}
    for step in plan.steps:
        by_problem.setdefault(step.serves, []).append(step.says)
    return [f"{says} [{', '.join(serves)}]" for serves, steps in by_problem.items() for says in steps[:3]]
