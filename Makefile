# make demo   the demo days, papers in demo-output/      make test    everything that must be true
# make check  lint, types, import contracts              make bench   speed, as ratios of one run
# make test-system  what needs more than Python          make pictures  pictures of papers and plan
PYTHON ?= python3
VENV   := .venv
BIN    := $(VENV)/bin
PIP    := $(BIN)/python -m pip install --quiet --disable-pip-version-check --constraint constraints.txt
WORKERS ?= auto

.PHONY: demo test check pages system-packages test-system bench pictures clean

demo: $(VENV)/.base
	$(BIN)/gaswright demo --out demo-output

test: check
	$(BIN)/python -m pytest -n $(WORKERS)

check: $(VENV)/.dev
	$(BIN)/ruff check src tests scripts benchmarks
	$(BIN)/mypy
	$(BIN)/lint-imports --no-cache
	$(BIN)/python scripts/checks_page.py --check

pages: $(VENV)/.dev
	$(BIN)/python scripts/checks_page.py
	$(BIN)/python scripts/policy_page.py
	$(BIN)/python scripts/write_schemas.py

# Debian's packages that tests need; without them those tests skip with a reason, and fail where CI=true.
system-packages:
	command -v apt-get >/dev/null && apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq postgresql >/dev/null

test-system: $(VENV)/.dev
	$(BIN)/python scripts/wheel_runs.py
	GASWRIGHT_SYSTEM=1 $(BIN)/python -m pytest tests/system

bench: $(VENV)/.dev
	$(BIN)/python benchmarks/bench.py

pictures: $(VENV)/.dev
	$(BIN)/python scripts/pictures.py docs/pictures

clean:
	rm -rf $(VENV) demo-output dist build

# A Python without ensurepip (some distributions) makes the venv without pip and lets the system's pip fill it.
$(VENV)/bin/python:
	$(PYTHON) -c "import sys; sys.exit(sys.version_info < (3, 11) and 'Gaswright needs Python 3.11 or newer')"
	$(PYTHON) -m venv $(VENV) 2>/dev/null \
	|| { rm -rf $(VENV) && $(PYTHON) -m venv --without-pip $(VENV) \
	     && $(PYTHON) -m pip --python $(VENV)/bin/python install --quiet pip; } \
	|| { rm -rf $(VENV); echo "This Python has neither venv with pip nor pip; on Debian: apt-get install python3-venv"; exit 1; }

$(VENV)/.base: pyproject.toml constraints.txt | $(VENV)/bin/python
	$(PIP) --editable .
	@touch $@

$(VENV)/.dev: pyproject.toml constraints.txt | $(VENV)/bin/python
	$(PIP) --editable '.[dev]'
	@touch $@ $(VENV)/.base
