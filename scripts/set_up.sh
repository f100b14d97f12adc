#!/usr/bin/env bash
# Installs one layer of what Loomwright needs and leaves a mark, so that the next `make` is quick.
#   set_up.sh tools | packages | project | system
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
bin="$PWD/.venv/bin"
log=.venv/set_up.log

say() { printf '%s\n' "$*" >&2; }

stop() {
  say "$@"
  exit 1
}

# Runs a command quietly; shows what it printed only if it fails.
quietly() {
  mkdir -p .venv
  if ! "$@" >"$log" 2>&1; then
    cat "$log" >&2
    stop "That failed: $*"
  fi
}

# Installs Debian packages where that can be done without asking, else says what to type.
from_debian() {
  if ! command -v apt-get >/dev/null; then
    stop "Missing: $*. Install them with this system's own package manager (these are Debian's names), then run make again."
  fi
  local as=()
  if [ "$(id -u)" != 0 ]; then
    if command -v sudo >/dev/null && sudo -n true 2>/dev/null; then
      as=(sudo -n)
    else
      stop "Missing: $*. Type: sudo apt-get install $*   Then run make again."
    fi
  fi
  say "Installing Debian packages: $*"
  quietly "${as[@]}" apt-get update -qq
  quietly "${as[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$@"
}

# The first Python on PATH that is new enough.
find_python() {
  local name
  for name in "${PYTHON:-python3}" python3.14 python3.13 python3.12 python3.11; do
    if "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1; then
      printf '%s\n' "$name"
      return
    fi
  done
}

tools() {
  local python
  python=$(find_python)
  if [ -z "$python" ]; then
    stop "Loomwright needs Python 3.11 or later. Found: $(python3 --version 2>&1 || true). On Debian 12 or later type: apt-get install python3 python3-venv"
  fi
  if ! "$python" -c 'import ensurepip, venv' 2>/dev/null; then
    from_debian python3-venv
  fi
  say "Making .venv with $("$python" --version)"
  rm -rf .venv
  "$python" -m venv .venv
  quietly "$bin/python" -m pip install --disable-pip-version-check --require-hashes -r requirements-uv.txt
}

packages() {
  say "Installing packages from requirements.txt"
  quietly "$bin/uv" pip install --python "$bin/python" --link-mode copy --compile-bytecode \
    --require-hashes -r requirements.txt
}

project() {
  if ! command -v npm >/dev/null; then
    say "No npm here: taking Node.js from a Python package"
    quietly "$bin/uv" pip install --python "$bin/python" --link-mode copy --require-hashes -r requirements-node.txt
  fi
  say "Installing Loomwright"
  PATH="$bin:$PATH" quietly "$bin/uv" pip install --python "$bin/python" --no-deps --no-build-isolation -e .
  # Compiled now, so that the first answer is as quick as the next, also where Python may not write its caches.
  PYTHONDONTWRITEBYTECODE='' "$bin/python" -m compileall -q src
}

system() {
  local missing=()
  command -v ngspice >/dev/null || missing+=(ngspice)
  "$bin/python" -c 'import ctypes; ctypes.CDLL("libngspice.so.0")' 2>/dev/null || missing+=(libngspice0)
  if ! compgen -G "/usr/lib/postgresql/*/bin/initdb" >/dev/null && ! command -v initdb >/dev/null; then
    missing+=(postgresql)
  fi
  command -v chromium >/dev/null || missing+=(chromium)
  if [ "${#missing[@]}" -gt 0 ]; then
    from_debian "${missing[@]}"
  fi
}

case "${1:-}" in
  tools | packages | project | system) "$1" ;;
  *) stop "Usage: set_up.sh tools | packages | project | system" ;;
esac
mkdir -p .venv/done
touch ".venv/done/$1"
