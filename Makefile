# Everything a person needs; each target sets up what it uses.
PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin
ONLY ?=
ROUNDS ?= 10
ADVISORIES ?=
BIND ?=

.PHONY: help demo test bench race faults fuzz draws serve lint schema lock audit clean

help:  ## list the targets
	@grep -hE '^[a-z]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 12

demo: $(VENV)/.runtime  ## run the main job end to end on SQLite, with no service running
	$(BIN)/python manage.py demo

test: $(VENV)/.tests  ## install what tests need and run them all
	$(BIN)/pytest -q -n auto --dist worksteal

bench: $(VENV)/.tests  ## print the benchmark rows; ONLY=fit runs those whose name begins so
	$(BIN)/python -m tests.benchmarks.run $(ONLY)

race: $(VENV)/.tests  ## race for the seats of scratch databases over HTTP: nobody oversells, and the control does
	$(BIN)/python -m tests.race.run

faults: $(VENV)/.tests  ## kill, restart, fill and misset what it stands on; ONLY=kills runs those whose name begins so
	$(BIN)/python -m tests.faults.run $(ONLY)

fuzz: $(VENV)/.tests  ## ask every operation what nobody thought of, as everybody: it prints how many requests
	FUZZ_EXAMPLES=10 $(BIN)/pytest -q -n auto --dist worksteal tests/fuzz

draws: $(VENV)/.tests  ## try the tests that draw their examples on new ones, ROUNDS=10 times
	for round in $$(seq $(ROUNDS)); do \
	    $(BIN)/pytest -q -n auto --dist worksteal -m hypothesis --hypothesis-profile new_draws || exit 1; \
	done

serve: $(VENV)/.runtime  ## serve the API, with a worker beside it; BIND=127.0.0.1:8001 takes another port
	$(BIN)/python manage.py serve $(BIND:%=--bind %)

lint: $(VENV)/.tests  ## style, types, import contracts, migrations, OpenAPI
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/lint-imports
	$(BIN)/mypy coop properties scrapes scheduling
	$(BIN)/python manage.py makemigrations --check --dry-run
	$(BIN)/python manage.py spectacular --validate --fail-on-warn --file $(VENV)/openapi.yml
	cmp coop/docs/openapi.yml $(VENV)/openapi.yml || { echo "the API changed: look at it, then make schema"; exit 1; }

schema: $(VENV)/.tests  ## declare a change of the API: write coop/docs/openapi.yml anew
	$(BIN)/python manage.py spectacular --validate --fail-on-warn --file coop/docs/openapi.yml

lock: $(VENV)/.tests  ## pin the requirements again from pyproject.toml
	$(BIN)/pip install -q uv
	$(BIN)/python tests/pin_requirements.py

audit:  ## ask an advisory database (OSV) for known holes in the pinned requirements; needs the network
	$(PYTHON) -m venv $(VENV)/audit
	$(VENV)/audit/bin/pip install -q --disable-pip-version-check pip-audit
	$(VENV)/audit/bin/pip-audit --strict --disable-pip --no-deps -s osv $(ADVISORIES:%=--osv-url %) \
	    -r requirements.txt -r tests/requirements.txt

clean:  ## remove the virtual environment and everything the software wrote
	rm -rf $(VENV) var

$(VENV)/bin/python:
	$(PYTHON) -m venv $(VENV)

$(VENV)/.runtime: requirements.txt | $(VENV)/bin/python
	$(BIN)/pip install -q --disable-pip-version-check -r requirements.txt
	touch $@

$(VENV)/.tests: tests/requirements.txt $(VENV)/.runtime
	$(BIN)/pip install -q --disable-pip-version-check -r tests/requirements.txt
	touch $@
