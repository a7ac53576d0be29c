"""`python -m triage`."""

from triage.cli.main import main

main(prog_name="triage")
