#!/bin/sh
# Prints the name of a Python that is new enough for Fallowside, or says what to install.
for python in ${PYTHON:+"$PYTHON"} python3 python3.14 python3.13 python3.12 python3.11; do
  if "$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
    printf '%s\n' "$python"
    exit
  fi
done
echo "Fallowside needs Python 3.11 or newer, and the path has none. On Debian: apt-get install python3 python3-venv" >&2
exit 1
