# Two commands do all set-up: `make run` and `make test`.
PYTHON ?= python3
VENV ?= .venv
SONG ?= shared/songs/paper-lanterns.toml
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip install --quiet --disable-pip-version-check

.PHONY: run test bench docs system clean

run: $(VENV)/.run system
	@$(BIN)/alberti $(SONG)

test: $(VENV)/.dev system
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/python -m pytest

bench: $(VENV)/.dev system
	$(BIN)/python -m pytest tests/bench/bench_*.py -s

docs: $(VENV)/.dev
	$(BIN)/python -m tui.document docs

$(VENV)/bin/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "Alberti needs Python 3.11 or newer: say which with 'make $(MAKECMDGOALS) PYTHON=python3.11'."; exit 1; }
	@$(PYTHON) -m venv $(VENV) || \
	  { rm -rf $(VENV); echo "No virtual environment could be made: on Debian, 'apt install python3-venv', then again."; exit 1; }

$(VENV)/.run: pyproject.toml | $(VENV)/bin/python
	@echo "Installing Alberti into $(VENV) ..."
	@$(PIP) -e .
	@$(BIN)/python -m compileall -q engine tui shared
	@touch $@

$(VENV)/.dev: pyproject.toml | $(VENV)/bin/python
	@echo "Installing Alberti and its checks into $(VENV) ..."
	@$(PIP) -e '.[dev]'
	@touch $@ $(VENV)/.run

# The synthesizer library and a soundfont: all that sound needs from the system.
# Where they can't be had, the workshop opens without sound and `alberti doctor` says how to mend it.
define INSTALL_SYSTEM
have() { $(BIN)/python -c 'import ctypes.util, sys; sys.exit(not ctypes.util.find_library("fluidsynth"))'; }
have && exit 0
root=""; [ "$$(id -u)" = 0 ] || root=$$(command -v sudo)
echo "Installing the synthesizer library FluidSynth and a soundfont ..."
if command -v apt-get; then
  export DEBIAN_FRONTEND=noninteractive
  $$root apt-get update -qq && $$root apt-get install -y -qq libfluidsynth3 timgm6mb-soundfont
elif command -v dnf; then $$root dnf install -y -q fluidsynth-libs fluid-soundfont-gm
elif command -v pacman; then $$root pacman -S --noconfirm --needed fluidsynth soundfont-fluid
elif command -v zypper; then $$root zypper -n install libfluidsynth3 fluid-soundfont-gm
elif command -v brew; then brew install fluid-synth
fi >/dev/null
have || echo "FluidSynth could not be installed: Alberti works without sound; 'alberti doctor' says how to add it."
endef
export INSTALL_SYSTEM

system: | $(VENV)/bin/python
	@sh -c "$$INSTALL_SYSTEM"

clean:
	rm -rf $(VENV) build dist *.egg-info
