# Three words start a day: make demo, make test, make check. Each sets up what it needs on its first call.

PYTHON_HERE := .venv/bin/python
ARGS ?=

.DEFAULT_GOAL := help
.PHONY: help demo test check bench coverage tidy ready ready-dev clean

help: ## list these words
	@awk -F ':.*## ' '/^[a-z-]+:.*## / { printf "  make %-10s %s\n", $$1, $$2 }' Makefile

demo: ready ## run the main job on the demo scenario; ends with the path of a report to open
	@rm -rf evalkit-demo
	@.venv/bin/evalkit demo evalkit-demo

test: ready-dev ## run the tests (narrow them with ARGS="tests/files -x")
	@$(PYTHON_HERE) -m pytest -n 2 --dist worksteal -q -rfEs $(ARGS)

check: ready-dev ## look for faults without running: ruff, then mypy
	$(PYTHON_HERE) -m ruff check
	$(PYTHON_HERE) -m ruff format --check --quiet
	$(PYTHON_HERE) -m mypy

bench: ready-dev ## print the figures of tests/bench/bench_*.py, one after another
	@set -e; for bench in tests/bench/bench_*.py; do echo "== $$bench"; $(PYTHON_HERE) $$bench; done

coverage: ready-dev ## run the tests and print which lines no test reached
	@$(PYTHON_HERE) -m coverage erase
	@$(PYTHON_HERE) -m coverage run -m pytest -n 2 -q $(ARGS)
	@$(PYTHON_HERE) -m coverage combine --quiet
	@$(PYTHON_HERE) -m coverage report

tidy: ready-dev ## put the code into the one layout, and mend what ruff can mend by itself
	$(PYTHON_HERE) -m ruff check --fix --exit-zero --quiet
	$(PYTHON_HERE) -m ruff format

ready: ## set up .venv and what PDF needs, nothing else
	@sh .ci/ready pdf

ready-dev: ## the same with what tests and checks need
	@sh .ci/ready dev

clean: ## remove everything that these words made
	rm -rf .venv .coverage .coverage.* .hypothesis .mypy_cache .pytest_cache .ruff_cache build dist evalkit-demo
	find evalkit tests demo -name __pycache__ -type d -prune -exec rm -rf {} + 2>/dev/null || true
