#!/usr/bin/env bash
# Installs the box's services on Raspberry Pi OS 64-bit (or Debian), as often as you like:
#
#   sudo bash hardware/install.sh --site DIR           the first time: with your site's files in DIR
#   sudo bash hardware/install.sh                      bring the program up to date
#   sudo bash hardware/install.sh --roll-back          back to the version before
#   bash hardware/install.sh --dry-run                 list the steps, do none
#   sudo bash hardware/install.sh --with rehearsal     with further extras of the project
#   sudo bash hardware/install.sh --echo-canceller     with the optional echo canceller
#   sudo bash hardware/install.sh --interrupt-case     even while a case is open
#   bash hardware/install.sh --into DIR                lay the files out under DIR, nothing else
#   bash hardware/install.sh --into DIR --environment ENV    the same, checked with a ready ENV/bin/python
#
# The new version is built beside the old one, which goes on working; it reads the site's files and
# hears the reference set, and only then takes over. If anything fails, or the services do not start with
# it, the old one stays or comes back. A site is checked before it is put in place, and the one that was
# there is kept beside it. What a site has changed (/etc/spoken-brief, the udev rules) is never
# overwritten: a newer version is put beside it, with .new at its end. Cases and models are never
# touched. It needs the network when packages change; what it installs needs none. Name extras (--with)
# each time: an upgrade without them leaves them out.
# Not a medical device.
set -euo pipefail
# Where this really lies: called through a link it must not take the installed program for itself.
here="$(cd "$(dirname "$0")/.." && pwd -P)"
# shellcheck source=hardware/steps.sh
. "$here/hardware/steps.sh"
# shellcheck source=hardware/version.sh
. "$here/hardware/version.sh"

echo_canceller=no roll_back=no extras=pi,glance given="" ready=""
python=/usr/bin/python3  # Debian's own: one from somebody's home could not be reached by the services
needs_value() { [ -n "$2" ] || stop "$1: found nothing; allowed: $3"; }
while [ "$#" -gt 0 ]; do
  case "$1" in
    --dry-run) dry_run=yes ;;
    --echo-canceller) echo_canceller=yes ;;
    --interrupt-case) interrupt=yes ;;
    --roll-back) roll_back=yes ;;
    --with) needs_value "$1" "${2:-}" "names of extras, as in --with rehearsal"; extras="$extras,$2"; shift ;;
    --site) needs_value "$1" "${2:-}" "the folder of a site's files"; given="$2"; shift ;;
    --into) needs_value "$1" "${2:-}" "a folder"; root="$2"; shift ;;
    --environment) needs_value "$1" "${2:-}" "a ready Python environment"; ready="$2"; shift ;;
    -h | --help) sed -n '2,/^set /{/^set /d;s/^# \{0,1\}//;p}' "$0"; exit 0 ;;
    *) stop "found '$1'; allowed: --site DIR, --roll-back, --dry-run, --with EXTRAS, --echo-canceller, --interrupt-case, --into DIR, --environment ENV" ;;
  esac
  shift
done

# A file that a site may have changed: put it there once, and later versions beside it.
offer() {
  local from="$1" to="$root$2"
  if [ ! -e "$to" ]; then
    run install -D -m 0644 "$from" "$to"
  elif cmp -s "$from" "$to"; then
    say "  $2 is as it should be"
  else
    say "  $2 was changed here and stays; this version is beside it"
    run install -D -m 0644 "$from" "$to.new"
  fi
}

# --- May it be done? --------------------------------------------------------------------------------

if [ -z "$root" ]; then
  [ -z "$ready" ] || stop "--environment: allowed only together with --into DIR"
  command -v dpkg >/dev/null || stop "this is neither Raspberry Pi OS nor Debian: there is no dpkg"
  case "$(dpkg --print-architecture)" in
    arm64) ;;
    armhf | armel) stop "found a 32-bit system; allowed: Raspberry Pi OS 64-bit" ;;
    *) say "note: this is no Raspberry Pi ($(dpkg --print-architecture)); pedal, light and buzzer need one" ;;
  esac
fi
[ -z "$ready" ] || [ -x "$ready/bin/python" ] || stop "--environment: found no $ready/bin/python; allowed: a ready Python environment"
needs_root
[ "$dry_run" = yes ] || needs_no_case
site="$root$settings/site"
next_site="$site" replaced="" resting=no
# What was there before takes its place again; done once, however often it is asked for.
go_back() {
  if [ -n "$replaced" ]; then run rm -rf "$site"; run mv "$replaced" "$site"; fi
  replaced=""
  [ "$upgraded" = no ] || swap_back
  upgraded=no
}
# However this ends, nothing half put in place stays, and no service is left at rest.
finish() {
  if [ "$dry_run" = no ] && [ "$next_site" != "$site" ]; then rm -rf "$next_site"; fi
  if [ "$resting" = yes ]; then
    go_back || true
    start_services || true
  fi
}
trap finish EXIT
# The services start with what is in place now; if they do not, what was there before comes back.
start_or_go_back() {
  local why="see journalctl -u 'spoken-brief-*'"
  if start_services; then resting=no; return; fi
  [ "$upgraded" = yes ] || [ -n "$replaced" ] || { resting=no; stop "the services did not start; $why"; }
  say "the services do not start with it: back to what was there"
  services_rest
  go_back
  resting=no
  start_services || stop "nor do the services start with what was there; $why"
  stop "the services did not start with it; what was there before is back ($why)"
}
if [ -n "$given" ]; then
  [ -f "$given/brief.yaml" ] || stop "--site: found no $given/brief.yaml; allowed: the folder of a site's files"
  # It would be followed as root: the box would hold what it leads to, for all to read.
  link="$(find "$given/" -type l -print -quit)"
  [ -z "$link" ] || stop "--site: found the link $link; allowed: files and folders only"
elif [ ! -d "$site" ] && [ "$dry_run" = no ] && [ "$roll_back" = no ]; then
  stop "found no site's files; allowed: --site DIR with your own ($here/configs/tarn-hollow is a demonstration: nobody answers for its doses)"
fi
if [ "$roll_back" = yes ]; then
  [ -d "$root$program/before" ] || stop "found no version before this one; allowed: --roll-back after an upgrade"
  roll_back_by_hand
  say "done"
  exit 0
fi

# --- Debian packages ----------------------------------------------------------------------------------

if [ -z "$root" ]; then
  say "Debian packages"
  wanted=(espeak-ng libportaudio2 libgomp1 alsa-utils python3 python3-venv)
  [ "$echo_canceller" = no ] || wanted+=(pulseaudio pulseaudio-utils libasound2-plugins)
  # The library of the pins: from Debian, because the registry has no wheel for every Python.
  if apt-cache show python3-lgpio >/dev/null 2>&1; then wanted+=(python3-lgpio); else
    say "  note: no python3-lgpio here; pedal, light and buzzer will not work"
  fi
  missing=()
  for package in "${wanted[@]}"; do
    dpkg-query --show --showformat='${db:Status-Status}' "$package" 2>/dev/null | grep -qx installed || missing+=("$package")
  done
  if [ "${#missing[@]}" -eq 0 ]; then say "  all there"; else
    run apt-get -qq update
    run env DEBIAN_FRONTEND=noninteractive apt-get -qq install --yes --no-install-recommends "${missing[@]}"
  fi
fi

# --- A user of its own ----------------------------------------------------------------------------------

if [ -z "$root" ]; then
  say "the user $user"
  for group in audio dialout gpio; do
    getent group "$group" >/dev/null || run groupadd --system "$group"
  done
  if ! getent passwd "$user" >/dev/null; then
    run useradd --system --user-group --home-dir "$state" --no-create-home --shell /usr/sbin/nologin "$user"
  fi
  groups=audio,dialout,gpio
  if getent group bluetooth >/dev/null; then groups+=,bluetooth; fi
  run usermod --append --groups "$groups" "$user"
  run install -d -m 0700 -o "$user" -g "$user" "$state" "$state/cases" "$cache"
else
  run install -d -m 0700 "$root$state" "$root$state/cases" "$root$cache"
fi

# --- Built and checked beside what is there; nothing of that is touched so far --------------------------

version="$root$program/versions/$(version_name)"
say "the program, in ${version#"$root"}"
build "$version"

if [ -n "$given" ] && ! diff -rq "$given" "$site" >/dev/null 2>&1; then
  say "the site's files that were given, beside $settings/site"
  next_site="$site.next"
  run rm -rf "$next_site"
  run install -d -m 0755 "$next_site"
  run cp -rP --no-preserve=ownership "$given/." "$next_site/"
  run chmod -R u=rwX,go=rX "$next_site"
fi
if [ -z "$root" ] || [ -n "$ready" ]; then check "$version" "$next_site"; fi
[ "$dry_run" = yes ] || needs_no_case  # one may have begun meanwhile

# --- It takes the other's place ---------------------------------------------------------------------------

resting=yes  # before the first of them is stopped: another may not let itself be
services_rest
if [ "$next_site" != "$site" ]; then
  if [ -d "$site" ]; then
    replaced="$site.$(date +%Y-%m-%d-%H%M%S)"
    run mv "$site" "$replaced"
  fi
  run mv "$next_site" "$site"
fi

say "the settings, in $settings"
offer "$here/hardware/systemd/environment" "$settings/environment"
sound="shared"
if [ "$echo_canceller" = yes ]; then
  sound="echo"
  offer "$here/hardware/sound/echo.pa" "$settings/echo.pa"
fi
for ours in shared echo; do
  # Changed from the one to the other; a file that the site has changed itself is none of the two.
  if cmp -s "$here/hardware/sound/$ours.conf" "$root$settings/asound.conf" && [ "$ours" != "$sound" ]; then
    run rm "$root$settings/asound.conf"
  fi
done
offer "$here/hardware/sound/$sound.conf" "$settings/asound.conf"
offer "$here/hardware/udev/85-spoken-brief.rules" "$rules"

[ "$echo_canceller" = no ] || services=("$sound_service" "${services[@]}")
put_in_place "$version"
if running; then
  if [ "$echo_canceller" = no ] && [ -e "$root$units/$sound_service" ]; then
    run "$control" disable --quiet "$sound_service"
    run rm -f "$root$units/$sound_service"
  fi
  run "$control" restart systemd-modules-load.service
  if [ -z "$root" ]; then
    run udevadm control --reload
    run udevadm trigger --subsystem-match=tty --subsystem-match=sound --subsystem-match=gpio --action=add
    run udevadm settle --timeout=10
  fi
elif [ -z "$root" ]; then
  say "  note: systemd does not run here; the services start when it does"
fi
[ -n "$root" ] || run "$control" enable --quiet "${services[@]}"
start_or_go_back
clear_away
say "done$([ "$dry_run" = no ] || printf ' (a dry run: nothing was changed)')"
