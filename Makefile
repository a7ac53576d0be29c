# make run    start the interview (without a terminal: verdicts on the examples)
# make test   run the whole test suite
# Both set up a private virtual environment in .venv the first time, and only then.

PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin

# durable-rules names a function that Python 3.13 dropped; this gives it the new name. Harmless before.
BUILD_CC := $(or $(CC_NAME),cc) -DPyEval_CallObject=PyObject_CallObject

.PHONY: run test clean

run: $(VENV)/.ready-run
	@if [ -t 0 ] && [ -t 1 ]; then $(BIN)/triage ask; else $(BIN)/triage --plain assess examples/cases/*.yaml; fi

test: $(VENV)/.ready-test
	@$(BIN)/python -m pytest -n 2 --dist worksteal

$(VENV)/.ready-run: pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
		{ echo "This needs Python 3.11 or newer; '$(PYTHON)' is older. Try: make run PYTHON=python3.12" >&2; exit 1; }
	@command -v $(firstword $(BUILD_CC)) >/dev/null || \
		{ echo "This needs a C compiler. Install one (Debian, Ubuntu: apt install gcc; Fedora: dnf install gcc; macOS: xcode-select --install)." >&2; exit 1; }
	@$(PYTHON) -c 'import os, sys, sysconfig; sys.exit(not os.path.exists(os.path.join(sysconfig.get_path("include"), "Python.h")))' || \
		{ echo "This needs the Python headers. Install them (Debian, Ubuntu: apt install python3-dev; Fedora: dnf install python3-devel)." >&2; exit 1; }
	@test -x $(BIN)/python || $(PYTHON) -m venv $(VENV) || \
		{ echo "This needs Python's venv module (Debian, Ubuntu: apt install python3-venv)." >&2; exit 1; }
	@echo "Setting up in $(VENV), once ..." >&2
	@CC="$(BUILD_CC)" $(BIN)/python -m pip install --quiet --disable-pip-version-check --editable .
	@touch $@

$(VENV)/.ready-test: $(VENV)/.ready-run
	@CC="$(BUILD_CC)" $(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[test]'
	@touch $@

clean:
	rm -rf $(VENV) build dist
