# Loomwright's chores. Everything that make installs goes into .venv; `make clean` takes it away again.
SHELL := /bin/bash
.SHELLFLAGS := -eu -o pipefail -c
MAKEFLAGS += --no-print-directory
.DEFAULT_GOAL := help

BIN := .venv/bin
DONE := .venv/done

.PHONY: help install demo serve test lint bench docs pictures wheel requirements clean

help: ## Show this list
	@awk -F ':.*## ' '/^[a-z]+:.*## / { printf "  make %-13s %s\n", $$1, $$2 }' Makefile

install: $(DONE)/project ## Install Loomwright and its tools into .venv

demo: $(DONE)/project ## Do the whole job on the carnival trike; the pack lands in build/demo/pack; then serve it
	@$(BIN)/loomwright demo build/demo
	@if [ -t 1 ]; then $(BIN)/loomwright serve --data build/demo/store --sample carnival_trike; fi

serve: $(DONE)/project ## Open the shop's own jobs in the browser
	@$(BIN)/loomwright serve

test: $(DONE)/project $(DONE)/system ## Run the tests, ngspice as the independent solver included
	@$(BIN)/python -m pytest -n 2 -q

lint: $(DONE)/project ## Check style, types and which room imports which
	@$(BIN)/ruff check .
	@$(BIN)/mypy
	@$(BIN)/lint-imports
	@bash scripts/check_requirements.sh

bench: $(DONE)/project $(DONE)/system ## Measure, print one table, write build/bench.json
	@OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 $(BIN)/python -m bench

docs: $(DONE)/project ## Write the reference anew, take the pictures of the guides, build the pages into build/site
	@$(BIN)/python scripts/make_reference.py
	@$(BIN)/python scripts/make_guides.py
	@$(BIN)/mkdocs build --quiet --strict
	@echo "The pages are in build/site/index.html"

pictures: $(DONE)/project ## Draw the README's pictures anew
	@$(BIN)/python scripts/make_pictures.py

wheel: $(DONE)/project ## Build a wheel for a shop laptop into dist/
	@PATH="$(CURDIR)/$(BIN):$$PATH" $(BIN)/python -m hatchling build -t wheel

requirements: $(DONE)/tools ## Choose the newest packages and write the hashed lists anew
	@bash scripts/lock.sh

clean: ## Remove all that make made
	@rm -rf .venv build dist .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache
	@find . -name __pycache__ -type d -prune -exec rm -rf {} +

$(DONE)/tools: requirements-uv.txt
	@bash scripts/set_up.sh tools

$(DONE)/packages: $(DONE)/tools requirements.txt
	@bash scripts/set_up.sh packages

$(DONE)/project: $(DONE)/packages pyproject.toml hatch_build.py src/loomwright/drawing/font_cut.py $(wildcard assets/*)
	@bash scripts/set_up.sh project

$(DONE)/system: $(DONE)/tools
	@bash scripts/set_up.sh system
