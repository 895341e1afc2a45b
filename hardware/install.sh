#!/usr/bin/env bash
# Installs the box's services on Raspberry Pi OS 64-bit (or Debian), as often as you like:
#
#   sudo bash hardware/install.sh                      install, or bring up to date, and start
#   bash hardware/install.sh --dry-run                 say each step, do none
#   sudo bash hardware/install.sh --with rehearsal     with further extras of the project
#   sudo bash hardware/install.sh --echo-canceller     with the optional echo canceller
#   sudo bash hardware/install.sh --interrupt-case     even while a case is open
#   bash hardware/install.sh --into DIR                lay the files out under DIR, nothing else
#
# What a site has written (/etc/spoken-brief, the udev rules) is never overwritten: a newer version
# is put beside it, with .new at its end. Cases and models are never touched.
# Needs the network to install; what it installs needs none. Not a medical device.
set -euo pipefail
here="$(cd "$(dirname "$0")/.." && pwd)"

program=/opt/spoken-brief
settings=/etc/spoken-brief
state=/var/lib/spoken-brief
user=spoken-brief
python=/usr/bin/python3  # Debian's own: one from somebody's home could not be reached by the services
services=(spoken-brief-watch.service spoken-brief-listen.service)
display=spoken-brief-glance.service  # laid out, and left to the site to enable

say() { printf '%s\n' "install: $*"; }
stop() { printf '%s\n' "install: $*" >&2; exit 1; }

dry_run=no echo_canceller=no interrupt=no into="" extras=pi,glance
while [ "$#" -gt 0 ]; do
  case "$1" in
    --dry-run) dry_run=yes ;;
    --echo-canceller) echo_canceller=yes ;;
    --interrupt-case) interrupt=yes ;;
    --with) [ -n "${2:-}" ] || stop "--with: found nothing; allowed: names of extras, as in --with rehearsal"
      extras="$extras,$2"; shift ;;
    --into) [ -n "${2:-}" ] || stop "--into: found nothing; allowed: a folder"
      into="$2"; shift ;;
    -h | --help) sed -n '2,/^set /{/^set /d;s/^# \{0,1\}//;p}' "$0"; exit 0 ;;
    *) stop "found '$1'; allowed: --dry-run, --with EXTRAS, --echo-canceller, --interrupt-case, --into DIR" ;;
  esac
  shift
done

# Says the step, and does it unless this is a dry run.
run() {
  say "  $*"
  [ "$dry_run" = yes ] || "$@"
}
# The pins of the project, or with these extras, as a file.
pins_for() {
  local file="$1"
  shift
  say "  hardware/pinned.py $* > $file"
  [ "$dry_run" = yes ] || "$python" "$program/hardware/pinned.py" "$@" >"$file"
}
lay() { run install -D -m "$2" "$1" "$into$3"; }

# A file that a site may have changed: put it there once, and later versions beside it.
offer() {
  local from="$1" to="$into$2"
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

if [ -z "$into" ]; then
  command -v dpkg >/dev/null || stop "this is neither Raspberry Pi OS nor Debian: there is no dpkg"
  case "$(dpkg --print-architecture)" in
    arm64) ;;
    armhf | armel) stop "found a 32-bit system; allowed: Raspberry Pi OS 64-bit" ;;
    *) say "note: this is no Raspberry Pi ($(dpkg --print-architecture)); pedal, light and buzzer need one" ;;
  esac
  if [ "$dry_run" = no ]; then
    [ "$(id -u)" -eq 0 ] || stop "found user $(id -un); allowed: root (sudo bash hardware/install.sh)"
    if [ -e "$state/cases/current" ] && [ "$interrupt" = no ]; then
      stop "found an open case; allowed: none (end it first, or say --interrupt-case)"
    fi
  fi
fi

# --- Debian packages ----------------------------------------------------------------------------------

if [ -z "$into" ]; then
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

if [ -z "$into" ]; then
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
  run install -d -m 0700 -o "$user" -g "$user" "$state" "$state/cases" /var/cache/spoken-brief
else
  run install -d -m 0700 "$into$state" "$into$state/cases"
fi

# --- The services rest while their program is changed ---------------------------------------------------

running() { [ -z "$into" ] && [ -d /run/systemd/system ]; }
if running; then
  say "the services rest"
  for service in "${services[@]}" spoken-brief-sound.service "$display"; do
    if systemctl --quiet is-active "$service"; then run systemctl stop "$service"; fi
  done
fi

# --- The program ----------------------------------------------------------------------------------------

say "the program, in $program"
if [ "$dry_run" = no ] && [ -z "$into" ]; then
  "$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' \
    || stop "found $("$python" --version); allowed: Python 3.11 or newer"
fi
if [ "$here" != "$into$program" ]; then
  run install -d -m 0755 "$into$program" "$into$program/models"
  for part in assistant configs docs hardware; do
    run rm -rf "$into$program/$part"
    run cp -r --no-preserve=ownership,mode "$here/$part" "$into$program/$part"
  done
  for part in pyproject.toml README.md DEVELOPERS.md LICENSE models/README.md; do
    lay "$here/$part" 0644 "$program/$part"
  done
  run find "$into$program" -name __pycache__ -prune -exec rm -rf {} +
fi
if [ -z "$into" ]; then
  fingerprint="$(cat "$here/pyproject.toml" "$here/hardware/pins.txt" | sha256sum | cut -d' ' -f1) $("$python" --version 2>&1) $python $extras"
  if [ "$(cat "$program/.venv/set-up" 2>/dev/null)" = "$fingerprint" ]; then
    say "  its environment is as it should be"
  else
    run rm -f "$program/.venv/set-up"  # an interrupted installation is begun again
    run "$python" -m venv --clear "$program/.venv"
    pip=("$program/.venv/bin/python" -m pip --quiet --disable-pip-version-check --no-cache-dir)
    # Exactly the pinned packages, each as its hash says; first what builds those that come as source.
    IFS=, read -ra names <<<"$extras"
    pins_for "$program/.venv/pins-build.txt" --build
    pins_for "$program/.venv/pins.txt" "${names[@]}"
    for pins in pins-build pins; do
      run "${pip[@]}" install --no-deps --no-build-isolation --require-hashes --requirement "$program/.venv/$pins.txt"
    done
    run "${pip[@]}" install --no-deps --no-build-isolation --editable "$program"
    run "$program/.venv/bin/python" -m pip --disable-pip-version-check check
    # The one library that comes from Debian is shown to the environment, and no other.
    for file in /usr/lib/python3/dist-packages/lgpio.py /usr/lib/python3/dist-packages/_lgpio*.so; do
      [ ! -e "$file" ] || run ln -sf "$file" "$(echo "$program"/.venv/lib/python3*/site-packages)/"
    done
    say "  noting what it was made of"
    [ "$dry_run" = yes ] || printf '%s' "$fingerprint" >"$program/.venv/set-up"
  fi
  run chmod -R u=rwX,go=rX "$program"
  run ln -sf "$program/.venv/bin/spoken-brief" /usr/local/bin/spoken-brief
fi

# --- The site's own files ---------------------------------------------------------------------------------

say "the site's files, in $settings"
if [ -d "$into$settings/site" ]; then say "  $settings/site is the site's own and stays"; else
  run install -d -m 0755 "$into$settings/site"
  for file in "$here"/configs/tarn-hollow/*.yaml; do
    run install -m 0644 "$file" "$into$settings/site/"
  done
fi
offer "$here/hardware/systemd/environment" "$settings/environment"
sound="shared"
if [ "$echo_canceller" = yes ]; then
  sound="echo"
  offer "$here/hardware/sound/echo.pa" "$settings/echo.pa"
fi
for ours in shared echo; do
  # Changed from the one to the other; a file that the site has changed itself is none of the two.
  if cmp -s "$here/hardware/sound/$ours.conf" "$into$settings/asound.conf" && [ "$ours" != "$sound" ]; then
    run rm "$into$settings/asound.conf"
  fi
done
offer "$here/hardware/sound/$sound.conf" "$settings/asound.conf"
offer "$here/hardware/udev/85-spoken-brief.rules" /etc/udev/rules.d/85-spoken-brief.rules

# --- The services ---------------------------------------------------------------------------------------------

say "the services"
[ "$echo_canceller" = no ] || services=(spoken-brief-sound.service "${services[@]}")
for service in "${services[@]}"; do
  lay "$here/hardware/systemd/$service" 0644 "/etc/systemd/system/$service"
done
lay "$here/hardware/systemd/$display" 0644 "/etc/systemd/system/$display"
lay "$here/hardware/systemd/modules-load.conf" 0644 /etc/modules-load.d/spoken-brief.conf
if [ -z "$into" ]; then
  if running; then
    if [ "$echo_canceller" = no ] && [ -e /etc/systemd/system/spoken-brief-sound.service ]; then
      run systemctl disable --quiet spoken-brief-sound.service
      run rm -f /etc/systemd/system/spoken-brief-sound.service
    fi
    run udevadm control --reload
    run systemctl daemon-reload
    run systemctl restart systemd-modules-load.service
    run udevadm trigger --subsystem-match=tty --subsystem-match=sound --subsystem-match=gpio --action=add
    run udevadm settle --timeout=10
  else
    say "  note: systemd does not run here; the services start when it does"
  fi
  run systemctl enable --quiet "${services[@]}"
fi

# --- Does the site's own set of files hold? ---------------------------------------------------------------

if [ -z "$into" ]; then
  say "checking the site's files"
  run "$program/.venv/bin/spoken-brief" check --site "$settings/site" \
    || stop "the check of the site's files failed; put right what it says and install again (the services rest until then)"
  say "hearing, held against the reference (half a minute and more)"
  code=0
  run "$program/.venv/bin/spoken-brief" check --hearing --site "$settings/site" || code=$?
  [ "$code" -ne 1 ] || stop "this machine takes something for an answer that is none; do not use it (the services rest)"
  [ "$code" -eq 0 ] || stop "the hearing could not be held against the reference; see above (the services rest)"
  if running; then
    run systemctl start "${services[@]}"
    if systemctl --quiet is-enabled "$display" 2>/dev/null; then run systemctl start "$display"; fi
  fi
fi
say "done$([ "$dry_run" = no ] || printf ' (a dry run: nothing was changed)')"
