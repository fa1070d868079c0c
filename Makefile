# Two commands do all set-up: `make run` and `make test`.
PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin
SUDO := $(shell [ "$$(id -u)" = 0 ] || command -v sudo)

.PHONY: run test bench lint clean

run: $(VENV)/.run system
	@$(BIN)/alberti $(or $(SONG),shared/songs/paper-lanterns.toml)

test: $(VENV)/.dev system
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/python -m pytest

bench: $(VENV)/.dev system
	$(BIN)/python -m pytest tests/bench/bench_*.py -s

$(VENV)/bin/python:
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Alberti needs Python 3.11 or newer; say which with: make run PYTHON=python3.11")'
	$(PYTHON) -m venv $(VENV)

$(VENV)/.run: $(VENV)/bin/python pyproject.toml
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e .
	@touch $@

$(VENV)/.dev: $(VENV)/bin/python pyproject.toml
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e '.[dev]'
	@touch $@ $(VENV)/.run

# The synthesizer library and a soundfont: all that sound needs from the system.
.PHONY: system
system:
	@sh shared/system.sh "$(SUDO)"

clean:
	rm -rf $(VENV) build dist *.egg-info
