# make demo, make test: each does its own set-up on a fresh Debian 12 machine, and is quick the second time.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
SUDO := $(shell [ "$$(id -u)" = 0 ] || echo sudo)
RUN_PACKAGES := python3-venv python3-dev gcc portaudio19-dev
TEST_PACKAGES := $(RUN_PACKAGES) fluidsynth timgm6mb-soundfont pulseaudio pulseaudio-utils libasound2-plugins libsndfile1 tmux systemd shellcheck man-db timidity chromium sonic-pi-samples
export OPENBLAS_NUM_THREADS = 1
unexport PURGE
export CARD STATE_PARTITION STATE_MB

.PHONY: help demo test lint bench soak vm card keep-card open-card quick-start slow-start release install uninstall rollback docs dist lock clean

help: ## what can be made
	@sed -n 's/^\([a-z-]*\):[^#]*## /\1\t/p' $(MAKEFILE_LIST) | sort | expand -t 12

demo: $(VENV)/.run ## the main job without hardware
	@if [ -t 0 ] && [ -t 1 ] && [ "$${TERM:-dumb}" != dumb ]; then $(BIN)/undertoe demo; else $(BIN)/undertoe demo --headless; fi

test: lint ## lint, types and all tests but the long ones
	$(BIN)/pytest -q -n 2 --dist loadfile -m "not soak and not wide"
	$(BIN)/pytest -q --doctest-modules pedal hw

lint: $(VENV)/.dev ## lint and types alone
	$(BIN)/ruff check .
	$(BIN)/mypy

bench: $(VENV)/.bench ## this ear beside general-purpose pitch libraries, in one run
	$(BIN)/python -m bench

soak: $(VENV)/.dev ## the long tests: days, kills, whole grids, what wants a quiet machine
	$(BIN)/pytest -q -s -m "soak or wide" --timeout 0

# A whole machine, emulated, with a real sound card: 10 to 30 minutes of one core, some 4 GB, and a download the first time.
vm: ## a whole emulated machine with a real sound card
	$(SUDO) env VM_ALSO="$(VM_ALSO)" VM_BEFORE="$(VM_BEFORE)" sh tests/systemd/machine.sh

# Make this machine a pedal, and undo it. Settings are never overwritten; the log stays unless PURGE=1 (any other value is
# none: it never reaches a shell).
install: ## make this machine a pedal
	$(SUDO) sh install/install.sh

# Back to the release before this one.
rollback: ## back to the release before this one
	$(SUDO) sh install/rollback.sh

# What a builder copies onto a freshly written card, in out/card; CARD=DIR, the mounted FAT partition, puts it there as well.
card: ## what makes a blank card a pedal, in out/card
	$(SUDO) sh install/make_card.sh $(if $(value CARD),"$$CARD")

# Pulling the plug becomes the way to switch off: nothing but the log is written to the card, from the next start on; and back.
keep-card: ## the plug becomes the switch
	$(SUDO) env STATE_PARTITION="$$STATE_PARTITION" STATE_MB="$$STATE_MB" sh install/keep_card.sh

open-card: ## as the card was before
	$(SUDO) sh install/keep_card.sh undo

# Leave out at the start what a pedal does not need; and back.
quick-start: ## shorten the start
	$(SUDO) sh install/quick_start.sh

slow-start: ## as the start was before
	$(SUDO) sh install/quick_start.sh undo

release: ## wheel, sources, card, bill of materials, checksums
	sh install/release.sh

uninstall: ## undo the install
	$(SUDO) env PURGE='$(if $(subst 1,,$(value PURGE)),,$(value PURGE))' sh install/uninstall.sh

# What is written from the code: the settings' page and the manual. Tests keep both current.
docs: $(VENV)/.dev ## the pages that are written from the code; the API's go to out/api
	$(BIN)/undertoe check --reference > docs/configuration.md
	$(BIN)/python install/manual.py > docs/undertoe.1
	$(BIN)/python -W error -m pdoc -d numpy -o out/api pedal hw

dist: $(VENV)/.dev ## wheel and sdist
	$(BIN)/python -m build

lock: ## pin what the install takes, with hashes
	sh install/lock.sh

# System packages: asked for only where one is missing, so that the second run touches nothing.
define need_packages
	@missing=; for p in $(1); do dpkg-query -W -f='$${Status}' $$p 2>/dev/null | grep -q 'ok installed' || missing="$$missing $$p"; done; \
	if [ -n "$$missing" ]; then echo "installing:$$missing"; $(SUDO) apt-get update -qq && \
	$(SUDO) env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $$missing; fi
endef

$(VENV)/bin/pip:
	$(call need_packages,$(RUN_PACKAGES))
	$(PYTHON) -m venv $(VENV)

$(VENV)/.run: pyproject.toml | $(VENV)/bin/pip
	$(BIN)/pip install -q --disable-pip-version-check -e .
	@touch $@

$(VENV)/.dev: pyproject.toml | $(VENV)/bin/pip
	$(call need_packages,$(TEST_PACKAGES))
	$(BIN)/pip install -q --disable-pip-version-check -e '.[dev]'
	@touch $@ $(VENV)/.run

# A peer that does not install here is tried alone, so that the others still play; the bench names who is missing.
$(VENV)/.bench: pyproject.toml | $(VENV)/bin/pip
	$(call need_packages,$(RUN_PACKAGES) fluidsynth timgm6mb-soundfont fluid-soundfont-gm)
	$(BIN)/pip install -q --disable-pip-version-check -e .
	$(BIN)/pip install -q --disable-pip-version-check -e '.[bench]' || \
	  for p in mir_eval pyfluidsynth praat-parselmouth aubio-ledfx librosa pyworld pysptk swift-f0; do \
	    $(BIN)/pip install -q --disable-pip-version-check $$p || echo "peer $$p cannot be installed here"; done
	@touch $@ $(VENV)/.run

clean: ## remove what was made here
	rm -rf $(VENV) build dist out *.egg-info .pytest_cache .mypy_cache .ruff_cache .hypothesis
