# Sourced by start, check and bench: finds Python 3.11 and builds .venv from the hashed locks, once.
# shellcheck shell=bash

ROOT="$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd -P)"
VENV="$ROOT/.venv"

# Matrices of a plant are small or sparse: threads of the linear algebra library only cost time.
export OPENBLAS_NUM_THREADS="${OPENBLAS_NUM_THREADS:-1}"

say() { printf '%s\n' "$*" >&2; }

# fail WHAT CURE: one line, then stop.
fail() {
  say "canewright: $1 $2"
  exit 1
}

is_python_311() {
  "$1" -c 'import sys; sys.exit(sys.version_info[:2] != (3, 11))' >/dev/null 2>&1
}

# Sets PYTHON to a Python 3.11: the one that CANEWRIGHT_PYTHON names, else the first found.
find_python() {
  local each candidates=(python3.11 python3 python)
  [ -z "${CANEWRIGHT_PYTHON:-}" ] || candidates=("$CANEWRIGHT_PYTHON")
  for each in "${candidates[@]}"; do
    if command -v "$each" >/dev/null 2>&1 && is_python_311 "$each"; then
      PYTHON="$(command -v "$each")"
      return
    fi
  done
  fail "Python 3.11 was not found." \
    "Install it (Debian 12: apt-get install python3.11 python3.11-venv) or set CANEWRIGHT_PYTHON to its path."
}

require_venv_module() {
  "$PYTHON" -c 'import ensurepip, venv' >/dev/null 2>&1 ||
    fail "$PYTHON cannot make environments." "Install its venv module (Debian 12: apt-get install python3.11-venv)."
}

# require_disk MEGABYTES: free space where the project lies.
require_disk() {
  local free
  free="$(df -Pm "$ROOT" | awk 'NR == 2 { print $4 }')"
  [ "$free" -ge "$1" ] ||
    fail "only $free MB are free on the disk of $ROOT, $1 MB are needed." "Free some space or move the folder."
}

# free_port FIRST: prints the first free port on localhost among 20 from FIRST on.
free_port() {
  "$PYTHON" - "$1" <<'PY' || fail "no free port on localhost from $1 to $(($1 + 19))." "Stop a program that listens there, or pass --port NUMBER."
import socket
import sys

first = int(sys.argv[1])
for port in range(first, first + 20):
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", port))
        except OSError:
            continue
        print(port)
        sys.exit(0)
sys.exit(1)
PY
}

digest() { cat "$@" | "$PYTHON" -c 'import hashlib, sys; print(hashlib.sha256(sys.stdin.buffer.read()).hexdigest())'; }

# An environment is tied to its Python, to the folder it was made in and to the lock.
stamp_of() { printf '%s %s %s' "$(digest "$ROOT/$1")" "$ROOT" "$PYTHON"; }

has_stamp() { [ -f "$VENV/$1" ] && [ "$(cat "$VENV/$1")" = "$2" ]; }

install_lock() {
  say "Installing the libraries of $1 (a few minutes the first time) ..."
  "$VENV/bin/python" -m pip install -qq --no-input --disable-pip-version-check --require-hashes -r "$ROOT/$1" ||
    fail "the libraries could not be installed (see above)." \
      "Check the network or the package index set for pip, then run the command again."
}

install_itself() {
  local stamp
  stamp="$(digest "$ROOT/pyproject.toml")"
  has_stamp stamp-package "$stamp" && return
  "$VENV/bin/python" -m pip install -qq --no-input --disable-pip-version-check \
    --no-deps --no-build-isolation -e "$ROOT" || fail "canewright itself could not be installed (see above)." "Mend pyproject.toml."
  printf '%s' "$stamp" >"$VENV/stamp-package"
}

# ensure_env run|dev: afterwards .venv holds at least the libraries of that lock, and this package.
ensure_env() {
  local run_stamp dev_stamp
  find_python
  run_stamp="$(stamp_of requirements.lock)"
  dev_stamp="$(stamp_of requirements-dev.lock)"
  # Libraries of an older lock must not linger, so a changed lock gives a new environment.
  if [ "$1" = dev ] && [ -f "$VENV/stamp-dev" ] && ! has_stamp stamp-dev "$dev_stamp"; then
    rm -f "$VENV/stamp-run"
  fi
  if ! has_stamp stamp-run "$run_stamp"; then
    require_venv_module
    require_disk 1500
    say "Making the environment in $VENV ..."
    "$PYTHON" -m venv --clear "$VENV" || fail "the environment could not be made (see above)." "Delete $VENV and try again."
    install_lock requirements.lock
    printf '%s' "$run_stamp" >"$VENV/stamp-run"
  fi
  if [ "$1" = dev ] && ! has_stamp stamp-dev "$dev_stamp"; then
    require_disk 1500
    install_lock requirements-dev.lock
    printf '%s' "$dev_stamp" >"$VENV/stamp-dev"
  fi
  install_itself
}
