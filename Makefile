# Fallowside: what there is to do. `make` alone lists it.
.DEFAULT_GOAL := help
.DELETE_ON_ERROR:
.PHONY: help setup run test lint format dev shapes build lock audit clean distclean

PORT ?= 8000
PYTHON_IN = .venv/bin/python
# Node comes from the path, or with the environment where the path has none that will do.
WITH_NODE = cd web && PATH="$(CURDIR)/.venv/bin:$$PATH"

# Stamps: each is made last in its recipe, so that a broken-off step is done again. An environment
# holds its own path, hence the folder's checksum in the name of its stamp.
PACKAGES := .venv/packages-$(shell pwd -P | cksum | cut -d ' ' -f 1)
WEB_PACKAGES := web/node_modules/.packages
WEB_APP := web/dist/index.html
# The app carries the service's words and its core. Folders count too: a file that goes is a change.
WEB_SOURCES := $(shell find web/src web/public web/scripts server/fallowside/words server/fallowside/core \
	-name __pycache__ -prune -o -print 2>/dev/null) \
	web/index.html web/vite.config.ts web/tsconfig.json web/package.json

help: ## list what there is to do
	@awk -F ':.*## ' '/^[a-z]+:.*## / { printf "  make %-10s %s\n", $$1, $$2 }' Makefile

setup: $(PACKAGES) $(WEB_APP) ## make the environment in .venv and build the web app

run: setup ## set up, load the demo place, print its plan, serve on http://127.0.0.1:8000 (PORT= changes it)
	.venv/bin/fallowside demo --port $(PORT)

test: setup ## set up and run every test: Python, PostgreSQL, nginx, TypeScript, and Chromium
	@sh server/tools/chromium.sh
	@sh server/tools/postgres.sh
	@sh server/tools/nginx.sh
	@$(PYTHON_IN) server/tools/checks.py

lint: setup ## only what is quick: style, types, and who may import whom
	@$(PYTHON_IN) server/tools/checks.py ruff format types arrows web-types web-lint

format: setup ## bring Python and TypeScript into the house's format
	$(PYTHON_IN) -m ruff check --fix .
	$(PYTHON_IN) -m ruff format .
	$(WITH_NODE) npm run format

dev: setup ## serve the web app from its sources; the service runs beside it: fallowside serve
	$(WITH_NODE) npm run dev

shapes: $(PACKAGES) ## write again what the web app is told of entries, plans and units
	$(PYTHON_IN) -m fallowside.exchange.typescript

build: $(PACKAGES) ## build the wheel, with the web app inside, into dist/
	PATH="$(CURDIR)/.venv/bin:$$PATH" $(PYTHON_IN) -m pip wheel --quiet --no-deps --wheel-dir dist .

LOCK = .venv/bin/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes \
	--no-emit-index-url --no-annotate --custom-compile-command "make lock" $(UPGRADE)

lock: $(PACKAGES) ## write the lock files again (UPGRADE=--upgrade takes newer versions)
	$(LOCK) pyproject.toml --output-file server/requirements.lock
	$(LOCK) pyproject.toml --group dev --constraint server/requirements.lock --output-file server/requirements-dev.lock
	$(LOCK) --group node --output-file server/node.lock
	$(WITH_NODE) npm install --package-lock-only

audit: $(PACKAGES) ## ask the public lists of known weaknesses about every package (needs the network)
	@PATH="$(CURDIR)/.venv/bin:$$PATH" $(PYTHON_IN) server/tools/audit.py

clean: ## take away what was built
	rm -rf web/dist dist build .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache

distclean: clean ## take away the environment and the web packages too
	rm -rf .venv web/node_modules

$(PACKAGES): server/requirements-dev.lock server/node.lock pyproject.toml server/tools/environment.sh
	@echo "== the environment in .venv"
	@sh server/tools/environment.sh
	@touch $@

$(WEB_PACKAGES): web/package-lock.json web/package.json web/.npmrc | $(PACKAGES)
	@echo "== the packages of the web app"
	@$(WITH_NODE) npm ci
	@touch $@

$(WEB_APP): $(WEB_PACKAGES) $(WEB_SOURCES)
	@echo "== the web app"
	@$(WITH_NODE) npm run build
	@touch $@
