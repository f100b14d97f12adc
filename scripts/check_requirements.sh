#!/usr/bin/env bash
# Requirement lists hold names, versions and hashes; no addresses. Every package the project names is locked.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
if grep -nE '://|^--(index|extra-index|find-links)| @ ' requirements*.txt; then
  echo "A requirement list holds an address. Write the lists anew: make requirements" >&2
  exit 1
fi
if ! awk '/^[A-Za-z0-9]/ && !/\\$/ { print FILENAME ": " $0; bad = 1 } END { exit bad }' requirements*.txt; then
  echo "A requirement has no hash. Write the lists anew: make requirements" >&2
  exit 1
fi
