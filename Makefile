# Everything starts here; a bare machine with Python 3.11, make and git needs nothing else.
#   make demo    the demonstration car in the browser, at the address that is printed
#   make test    what the server runs

SHELL := bash
.SHELLFLAGS := -eu -o pipefail -c
.DEFAULT_GOAL := help
.DELETE_ON_ERROR:

# where it is set, every process that the tests start reads the whole program in anew
export PYTHONDONTWRITEBYTECODE :=

PYTHON ?= $(shell command -v python3.11 || command -v python3)
BIN := .venv/bin
READY := .venv/.ready
PIP := $(BIN)/python -m pip --disable-pip-version-check --no-input --quiet

.PHONY: help setup test demo pack long outside-all bench lock clean

help:
	@sed -n 's/^#   //p' Makefile
	@echo "make pack OUT=folder   the build pack of the demonstration: PDF, workbook, labels, drawings"
	@echo "make setup   the tools in .venv, from the locked list"
	@echo "make long    the tests that take longer, too"
	@echo "make outside-all   everything that is held against the outside, every network of the search too"
	@echo "make bench   how fast"
	@echo "make lock    work the locked lists out anew (needs the network)"
	@echo "make clean   take away what was made, .venv too"

setup: $(READY)

$(READY): requirements-dev.lock pyproject.toml
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info[:2] != (3, 11) and "Python 3.11 is needed, found " + sys.version)'
	$(PYTHON) -m venv .venv
	$(PIP) install --no-deps --require-hashes -r requirements-dev.lock
	$(PIP) install --no-deps --no-build-isolation --editable .
	$(BIN)/loomwright selfcheck --warm
	touch $@

test: setup
	tools/fetch_programs
	$(BIN)/ruff check
	$(BIN)/ruff format --check
	$(BIN)/mypy
	$(BIN)/pytest -q --numprocesses 2 --dist loadfile --no-loadscope-reorder

demo: setup
	$(BIN)/loomwright demo --shelf out/demo-shelf

OUT ?= out
pack: setup
	$(BIN)/loomwright pack van --out "$(OUT)"

long: setup
	tools/fetch_programs
	$(BIN)/pytest -q -m ""

outside-all: setup
	tools/fetch_programs
	$(BIN)/pytest -q -m "" tests/outside

bench: setup
	tools/fetch_programs libngspice0
	$(BIN)/pytest -q benchmarks --benchmark-only

lock:
	tools/lock

clean:
	rm -rf .venv build dist out .mypy_cache .pytest_cache .ruff_cache .hypothesis
	find src tests tools -name __pycache__ -type d -prune -exec rm -rf {} +
