"""`triage schema`: the published shapes of case files and verdicts."""

from __future__ import annotations

import json

import click


@click.command(name="schema", short_help="JSON Schema of a case file or a verdict.")
@click.argument("what", type=click.Choice(["case", "visit", "verdict"]))
def command(what: str) -> None:
    """Prints the JSON Schema (draft 2020-12) of a case file, a visit file or a verdict.

    \b
    Example:
      triage schema case > case.schema.json
    """
    from triage.reasoning.case import CaseInput, VisitInput
    from triage.reasoning.verdict_model import Verdict

    if what == "verdict":
        schema = Verdict.model_json_schema(by_alias=True, mode="serialization")
        # `file` and `asked` are added by the commands that print a verdict.
        schema["properties"]["file"] = {"type": "string", "description": "the case file"}
        schema["properties"]["asked"] = {"type": "array", "items": {"type": "string"}}
    else:
        schema = (CaseInput if what == "case" else VisitInput).model_json_schema()
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    click.echo(json.dumps(schema, indent=2))
