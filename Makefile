# Two commands are enough: `make demo` to look, `make test` to change something.

SHELL := /bin/bash
.SHELLFLAGS := -euo pipefail -c
.DEFAULT_GOAL := help

VENV := .venv
BIN := $(VENV)/bin
PYTHON ?= $(shell scripts/find_python.sh)
PIP := $(BIN)/python -m pip --disable-pip-version-check --no-input
# commands start sooner where nothing has to be compiled first, also where Python is told to write nothing by itself
COMPILE := $(BIN)/python -m compileall -q holdwatch dashboards devices
# as many test processes as there are cores; files stay whole, so that what a file shares is made once, and the long
# ones come first (tests/conftest.py)
TESTS ?= -n auto --dist loadfile --no-loadscope-reorder

.PHONY: help demo test check format docs words screenshots bench soak wearing mutants clean

help:  ## Say what there is to make
	@grep -hE '^[a-z]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/^([a-z]+):.*## (.*)/make \1\t\2/' | expand -t 14

demo: $(VENV)/run.stamp  ## Start the whole system with an invented kitchen
	@exec $(BIN)/holdwatch demo

test: $(VENV)/dev.stamp  ## Install what the tests need, and run every check and test
	@scripts/install_test_parts.sh
	@$(MAKE) --no-print-directory check
	$(BIN)/python -m pytest $(TESTS)

check: $(VENV)/dev.stamp  ## Format, lint, types and layers, without tests
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports

format: $(VENV)/dev.stamp  ## Format the code
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .

docs: $(VENV)/dev.stamp  ## Write docs/cli.md from the commands, docs/clauses.md from the limits
	$(BIN)/python scripts/cli_docs.py docs/cli.md
	$(BIN)/python scripts/limits_docs.py docs/clauses.md

words: $(VENV)/dev.stamp  ## Bring the catalogs of every language up to the words in the code
	$(BIN)/python scripts/words.py

screenshots: $(VENV)/dev.stamp  ## Take pictures of every page into docs/img
	$(BIN)/python scripts/screenshots.py

bench: $(VENV)/dev.stamp  ## Measure how fast it is here, into docs/benchmarks.md (some minutes)
	$(BIN)/python -m benchmarks.page

soak: $(VENV)/dev.stamp  ## Watch the memory of the wall tablet's Bench, into docs/soak.md (HOURS=12, RELOAD_MIN=60)
	nice -n 10 $(BIN)/python -m benchmarks.soak --hours $(or $(HOURS),12) --reload-min $(or $(RELOAD_MIN),60)

wearing: $(VENV)/dev.stamp  ## What the server of the screens grows by with each refresh, into docs/wearing.md (REFRESHES=30240)
	nice -n 10 $(BIN)/python -m benchmarks.wearing --refreshes $(or $(REFRESHES),30240) > docs/wearing.new
	mv docs/wearing.new docs/wearing.md

mutants: $(VENV)/mutants.stamp  ## Try faults in what judges, into docs/mutation.md (the files that changed; ALL=1 every file; AGAIN=1 what survived)
	nice -n 10 $(BIN)/python -m tests.mutants.run $(if $(ALL),--all) $(if $(AGAIN),--again) $(if $(JOBS),--jobs $(JOBS))

clean:  ## Remove the environment and what tools left behind
	rm -rf $(VENV) build dist .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache

$(VENV)/bin/python:
	@scripts/find_python.sh --check >/dev/null
	@echo "1 of 2: making the environment in $(VENV)"
	@rm -rf $(VENV)
	@$(PYTHON) -m venv $(VENV)

$(VENV)/run.stamp: pyproject.toml | $(VENV)/bin/python
	@echo "2 of 2: installing what Holdwatch needs (some 200 MB, once; a minute or two)"
	@$(PIP) install --progress-bar on -e .
	@$(COMPILE)
	@touch $@

$(VENV)/dev.stamp: pyproject.toml | $(VENV)/bin/python
	@echo "2 of 2: installing what Holdwatch and its tests need (some 300 MB, once; a few minutes)"
	@$(PIP) install --progress-bar on -e '.[dev]'
	@$(COMPILE)
	@touch $@ $(VENV)/run.stamp

$(VENV)/mutants.stamp: pyproject.toml $(VENV)/dev.stamp
	@$(PIP) install --progress-bar on -e '.[dev,mutants]'
	@touch $@
