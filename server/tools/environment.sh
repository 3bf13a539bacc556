#!/bin/sh
# Makes .venv with every locked Python package and the project itself, linked; brings Node if need be.
set -eu
cd -P "$(dirname "$0")/../.."
if [ -L .venv ]; then
  # Another checkout's environment: to clear or fill it would spoil it for that one.
  echo ".venv is a link to the environment of another checkout: left as it is; remove the link to get one here" >&2
  exit 1
fi
python=$(sh server/tools/python.sh)

# Debian keeps the maker of environments in a package of its own.
if ! "$python" -c 'import ensurepip' 2>/dev/null; then
  package=python$("$python" -c 'import sys; print("%d.%d" % sys.version_info[:2])')-venv
  line="apt-get update && apt-get install --yes $package"
  if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
    echo "== $line"
    sh -c "DEBIAN_FRONTEND=noninteractive; export DEBIAN_FRONTEND; $line" >&2
  else
    echo "This Python cannot make environments. On Debian, type: sudo sh -c '$line'" >&2
    exit 1
  fi
fi

# An environment holds its own path: after a move it is made anew.
clear=
if [ -e .venv/bin/fallowside ] && ! grep -qF "$(pwd -P)/.venv/bin/" .venv/bin/fallowside; then
  clear=--clear
fi
"$python" -m venv $clear .venv

install() {
  .venv/bin/python -m pip install --quiet --disable-pip-version-check --no-input "$@"
}
install --only-binary :all: --require-hashes -r server/requirements-dev.lock
install --no-deps --no-build-isolation --editable .

# The oldest Node that will do stands in web/package.json alone.
recent='const [is, wanted] = [process.versions.node, require("./web/package.json").engines.node.slice(2)]
  .map((version) => version.split(".").map(Number));
process.exit(is[0] > wanted[0] || (is[0] === wanted[0] && is[1] >= wanted[1]) ? 0 : 1)'
if ! { command -v npm && node -e "$recent"; } >/dev/null 2>&1; then
  echo "== no recent Node on the path: bringing one into .venv"
  install --only-binary :all: --require-hashes -r server/node.lock
fi
