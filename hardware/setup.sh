#!/usr/bin/env bash
# Sets the project up on Debian or Raspberry Pi OS, as often as you like, and runs what it is asked:
#
#   bash hardware/setup.sh                 set up only
#   bash hardware/setup.sh rehearse [...]  set up, then a whole rehearsal ("spoken-brief rehearse …")
#   bash hardware/setup.sh test [...]      set up, then lint, types and tests (what follows goes to pytest)
#
# Needs the network only to install; what it runs needs none.
set -euo pipefail
cd "$(dirname "$0")/.."

say() { printf '%s\n' "setup: $*" >&2; }
stop() { say "$*"; exit 1; }

usage="setup.sh, setup.sh rehearse [options], or setup.sh test [options]"
case "${1:-}" in
  "" | rehearse | test) ;;
  -h | --help) say "$usage"; exit 0 ;;
  *) stop "found '$1'; allowed: $usage" ;;
esac

# --- Debian packages --------------------------------------------------------------------------

packages=()
want() { dpkg-query --show --showformat='${db:Status-Status}' "$1" 2>/dev/null | grep -qx installed || packages+=("$1"); }

command -v dpkg-query >/dev/null || stop "this is neither Debian nor Raspberry Pi OS: there is no dpkg"
want espeak-ng       # the assistant's voice
want libportaudio2   # microphone and loudspeaker
want libgomp1        # the voice detector
command -v python3 >/dev/null || packages+=(python3)
python3 -c 'import ensurepip, venv' 2>/dev/null || packages+=(python3-venv)

if [ "${#packages[@]}" -gt 0 ]; then
  as_root=()
  if [ "$(id -u)" -ne 0 ]; then
    if sudo -n true 2>/dev/null; then
      as_root=(sudo)
    else
      stop "missing: ${packages[*]}; I may not install them. Run: sudo apt-get install ${packages[*]}"
    fi
  fi
  say "installing ${packages[*]}"
  "${as_root[@]}" apt-get -qq update
  "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -qq install --yes --no-install-recommends "${packages[@]}" >/dev/null
fi

# --- The project, pinned, in an environment of its own ------------------------------------------

python3 -c 'import sys; sys.exit(sys.version_info < (3, 11))' \
  || stop "found $(python3 --version); allowed: Python 3.11 or newer"

wanted="$(cat pyproject.toml hardware/pins.txt | sha256sum | cut -d' ' -f1) $(python3 --version) $PWD"
if [ "$(cat .venv/set-up 2>/dev/null)" != "$wanted" ]; then
  say "making .venv"
  rm -f .venv/set-up  # an interrupted installation is begun again
  python3 -m venv --clear .venv
  .venv/bin/python -m pip install --quiet --disable-pip-version-check \
    --constraint hardware/pins.txt --editable '.[rehearsal,test]'
  printf '%s' "$wanted" >.venv/set-up
fi

# --- What was asked -----------------------------------------------------------------------------

case "${1:-}" in
  rehearse) shift; exec .venv/bin/spoken-brief rehearse "$@" ;;
  test)
    shift
    .venv/bin/ruff check .
    .venv/bin/ruff format --check .
    .venv/bin/mypy
    exec .venv/bin/python -m pytest "$@"
    ;;
esac
say "ready: .venv/bin/spoken-brief --help"
