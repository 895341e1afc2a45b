# Versions of the program, side by side in $program/versions: built, checked, put in place. Sourced by
# install.sh only. `now` leads to the one that the services run, `before` to the one before it.
# shellcheck shell=bash disable=SC2154,SC2034 # some of it is set, or asked for, by install.sh and steps.sh
set -euo pipefail

folders=(assistant configs docs hardware)
files=(pyproject.toml README.md DEVELOPERS.md LICENSE)
upgraded=no  # whether `now` was led to another version
built_mark=built  # in a version: it is whole, and this is what its packages were made of

# A name that is the same for the same files and packages.
version_name() {
  (
    cd "$here" || exit
    find "${folders[@]}" "${files[@]}" -type f ! -path '*/__pycache__/*' -print0 | LC_ALL=C sort -z | xargs -0 sha256sum
    packages
  ) | sha256sum | cut -c1-12
}

packages() { printf '%s %s %s' "$(cat "$here/pyproject.toml" "$here/hardware/pins.txt" | sha256sum | cut -d' ' -f1)" "$("$python" --version 2>&1)" "$extras"; }

# Lays a version out and makes its environment; one that is whole already is left alone.
build() {
  local version="$1" part
  if [ -e "$version/$built_mark" ]; then say "  it is there, and as it should be"; return; fi
  run rm -rf "$version"  # an interrupted installation is begun again
  run install -d -m 0755 "$version" "$root$program/models"
  for part in "${folders[@]}"; do
    run cp -r --no-preserve=ownership,mode "$here/$part" "$version/$part"
  done
  for part in "${files[@]}"; do run install -m 0644 "$here/$part" "$version/$part"; done
  run find "$version" -name __pycache__ -prune -exec rm -rf {} +
  # Models are for every version, and stay when a version goes.
  run install -m 0644 "$here/models/README.md" "$root$program/models/README.md"
  run ln -sfn ../../models "$version/models"
  if [ -n "$ready" ]; then
    run ln -sfn "$(cd "$ready" && pwd -P)" "$version/.venv"
  elif [ -z "$root" ]; then
    environment "$version"
  fi
  run chmod -R u=rwX,go=rX "$version"
  say "  noting that it is whole"
  [ "$dry_run" = yes ] || packages >"$version/$built_mark"
}

environment() {
  local version="$1" pins file names pip
  if [ "$dry_run" = no ]; then
    "$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' \
      || stop "found $("$python" --version); allowed: Python 3.11 or newer"
  fi
  pip=("$version/.venv/bin/python" -m pip --quiet --disable-pip-version-check --no-cache-dir)
  if [ "$(cat "$program/now/$built_mark" 2>/dev/null)" = "$(packages)" ]; then
    # The same packages: no network is needed.
    run cp -a "$(readlink -f "$program/now")/.venv" "$version/.venv"
  else
    run "$python" -m venv --clear "$version/.venv"
    # Exactly the pinned packages, each as its hash says; first what builds those that come as source.
    IFS=, read -ra names <<<"$extras"
    pins_for "$version/.venv/pins-build.txt" --build
    pins_for "$version/.venv/pins.txt" "${names[@]}"
    for pins in pins-build pins; do
      run "${pip[@]}" install --no-deps --no-build-isolation --require-hashes --requirement "$version/.venv/$pins.txt"
    done
  fi
  run "${pip[@]}" install --force-reinstall --no-deps --no-build-isolation --editable "$version"
  run "$version/.venv/bin/python" -m pip --disable-pip-version-check check
  # The one library that comes from Debian is shown to the environment, and no other.
  for file in /usr/lib/python3/dist-packages/lgpio.py /usr/lib/python3/dist-packages/_lgpio*.so; do
    [ ! -e "$file" ] || run ln -sf "$file" "$(echo "$version"/.venv/lib/python3*/site-packages)/"
  done
}

# The pins of the project, or with these extras, as a file.
pins_for() {
  local file="$1"
  shift
  say "  hardware/pinned.py $* > $file"
  [ "$dry_run" = yes ] || "$python" "$here/hardware/pinned.py" "$@" >"$file"
}

# Whether this version takes these files of a site, and hears on this machine as it was measured to.
# As the service's user: what is learnt of the site's drugs has to be found by the services.
check() {
  local version="$1" files_of_site="$2" code=0
  say "checking the site's files with it"
  by_the_user "$version" check --learn --site "$files_of_site" \
    || stop "the check of the site's files failed; put right what it says and install again (nothing was changed)"
  say "hearing, held against the reference (half a minute and more)"
  by_the_user "$version" check --hearing --site "$files_of_site" || code=$?
  [ "$code" -ne 1 ] || stop "this machine takes something for an answer that is none; do not use it (nothing was changed)"
  [ "$code" -eq 0 ] || stop "the hearing could not be held against the reference; see above (nothing was changed)"
}

by_the_user() {
  local version="$1" as=()
  shift
  [ -n "$root" ] || as=(runuser -u "$user" --)
  run "${as[@]}" env --chdir="$version" HOME="$root$state" XDG_CACHE_HOME="$root${cache%/*}" \
    PYTHONDONTWRITEBYTECODE=1 ORT_DISABLE_TELEMETRY=1 "$version/.venv/bin/python" -m assistant "$@"
}

# Links change at once or not at all.
point() { run ln -sfn "versions/$(basename "$2")" "$root$program/$1.next"; run mv -T "$root$program/$1.next" "$root$program/$1"; }

# `now` leads to this version, and the units are its own.
put_in_place() {
  local version="$1" old=""
  say "the program's place, and the services"
  [ ! -L "$root$program/now" ] || old="$(readlink -f "$root$program/now")"
  if [ -n "$old" ] && [ "$old" != "$(readlink -f "$version")" ]; then
    point before "$old"
    upgraded=yes
  fi
  point now "$version"
  lay_units "$version"
}

lay_units() {
  local version="$1" unit
  for unit in "${services[@]}" "$display"; do
    run install -D -m 0644 "$version/hardware/systemd/$unit" "$root$units/$unit"
  done
  run install -D -m 0644 "$version/hardware/systemd/modules-load.conf" "$root/etc/modules-load.d/spoken-brief.conf"
  if [ -z "$root" ]; then run ln -sfn "$program/now/.venv/bin/spoken-brief" /usr/local/bin/spoken-brief; fi
  if running; then run "$control" daemon-reload; fi
}

start_services() {
  running || return 0
  run "$control" start "${services[@]}" || return 1
  if "$control" --quiet is-enabled "$display" 2>/dev/null; then run "$control" start "$display" || return 1; fi
}

# What was now is before, and the other way round.
swap_back() {
  local now before
  now="$(readlink -f "$root$program/now")"
  before="$(readlink -f "$root$program/before")"
  point now "$before"
  point before "$now"
  lay_units "$before"
}

roll_back_by_hand() {
  local before
  before="$(readlink -f "$root$program/before")"
  if [ -e "$root$units/$sound_service" ]; then services=("$sound_service" "${services[@]}"); fi
  if [ -e "$before/.venv" ]; then
    say "checking the site's files with the version before"
    by_the_user "$before" check --site "$root$settings/site" \
      || stop "the version before does not take the site's files; put right what it says first (nothing was changed)"
  fi
  resting=yes
  services_rest
  say "back to ${before#"$root"}"
  swap_back
  upgraded=yes
  start_or_go_back
}

# Versions older than the one before, and what an earlier installer left beside them.
clear_away() {
  local one kept part
  kept=" $(readlink -f "$root$program/now") $(readlink -f "$root$program/before" 2>/dev/null || true) "
  for one in "$root$program"/versions/*; do
    [ -d "$one" ] || continue
    case "$kept" in *" $(readlink -f "$one") "*) ;; *) run rm -rf "$one" ;; esac
  done
  if [ "$here" != "$(readlink -f "$root$program")" ] && [ ! -e "$root$program/.git" ]; then
    for part in "${folders[@]}" "${files[@]}" .venv; do
      if [ -e "$root$program/$part" ]; then run rm -rf "$root${program:?}/$part"; fi
    done
  fi
}
