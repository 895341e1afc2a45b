# What install.sh and uninstall.sh share: where things lie, how a step is said and done. Sourced only.
# shellcheck shell=bash disable=SC2034 # what is set here is used by the two
set -euo pipefail

program=/opt/spoken-brief
settings=/etc/spoken-brief
state=/var/lib/spoken-brief
cache=/var/cache/spoken-brief
user=spoken-brief
rules=/etc/udev/rules.d/85-spoken-brief.rules
units=/etc/systemd/system
services=(spoken-brief-watch.service spoken-brief-listen.service)
sound_service=spoken-brief-sound.service  # only with the echo canceller
display=spoken-brief-glance.service  # laid out, and left to the site to enable

dry_run=no
interrupt=no
root=""  # a folder that stands for /, for an image or a test

me="$(basename "$0" .sh)"
say() { printf '%s\n' "$me: $*"; }
stop() { printf '%s\n' "$me: $*" >&2; exit 1; }

# Says the step, and does it unless this is a dry run.
run() {
  say "  $*"
  [ "$dry_run" = yes ] || "$@"
}

# Whether systemd runs here, and this is its machine; a test names a stand-in for its systemctl.
control="${SPOKEN_BRIEF_SYSTEMCTL:-systemctl}"
running() {
  [ -n "${SPOKEN_BRIEF_SYSTEMCTL:-}" ] || { [ -z "$root" ] && [ -d /run/systemd/system ]; }
}

needs_root() {
  [ -n "$root" ] || [ "$dry_run" = yes ] || [ "$(id -u)" -eq 0 ] \
    || stop "found user $(id -un); allowed: root (sudo bash hardware/$me.sh)"
}

needs_no_case() {
  # Where the disk takes no record the case lies in memory.
  local open=("$root$state/cases/current" "$root"/run/spoken-brief/*/current/journal.sqlite)
  if { [ -e "${open[0]}" ] || [ -e "${open[1]}" ]; } && [ "$interrupt" = no ]; then
    stop "found an open case; allowed: none (end it first, or say --interrupt-case)"
  fi
}

services_rest() {
  running || return 0
  say "the services rest"
  local service
  for service in "$display" "${services[@]}" "$sound_service"; do
    if "$control" --quiet is-active "$service"; then run "$control" stop "$service"; fi
  done
}
