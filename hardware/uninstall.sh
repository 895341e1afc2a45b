#!/usr/bin/env bash
# Takes the services and their program off the machine, without asking:
#
#   sudo bash hardware/uninstall.sh                  cases, models, the site's files and rules stay
#   sudo bash hardware/uninstall.sh --purge-site     … the site's files and its udev rules go too
#   sudo bash hardware/uninstall.sh --purge-models   … the models go too
#   sudo bash hardware/uninstall.sh --purge-cases    … the cases go too, and with them the user
#   sudo bash hardware/uninstall.sh --interrupt-case even while a case is open
#   bash hardware/uninstall.sh --dry-run             list the steps, do none
#   bash hardware/uninstall.sh --from DIR            what install.sh --into DIR laid out
#
# Debian packages stay: others may need them.
set -euo pipefail
# shellcheck source=hardware/steps.sh
. "$(cd "$(dirname "$0")" && pwd -P)/steps.sh"

purge_site=no purge_models=no purge_cases=no
while [ "$#" -gt 0 ]; do
  case "$1" in
    --dry-run) dry_run=yes ;;
    --interrupt-case) interrupt=yes ;;
    --purge-site) purge_site=yes ;;
    --purge-models) purge_models=yes ;;
    --purge-cases) purge_cases=yes ;;
    --from) [ -n "${2:-}" ] || stop "--from: found nothing; allowed: a folder"
      root="$2"; shift ;;
    -h | --help) sed -n '2,/^set /{/^set /d;s/^# \{0,1\}//;p}' "$0"; exit 0 ;;
    *) stop "found '$1'; allowed: --dry-run, --interrupt-case, --purge-site, --purge-models, --purge-cases, --from DIR" ;;
  esac
  shift
done
needs_root
[ "$dry_run" = yes ] || needs_no_case

remove() { if [ -e "$root$1" ] || [ -L "$root$1" ]; then run rm -rf "$root$1"; fi; }

say "the services"
services_rest
for service in "$display" "${services[@]}" "$sound_service"; do
  if [ -z "$root" ] && [ -e "$units/$service" ]; then run "$control" disable --quiet "$service"; fi
  remove "$units/$service"
done
remove /etc/modules-load.d/spoken-brief.conf
remove "$rules.new"

say "the program"
remove /usr/local/bin/spoken-brief
for part in now before versions assistant configs docs hardware pyproject.toml README.md DEVELOPERS.md LICENSE .venv; do
  # A checkout that somebody keeps there is theirs.
  case "$part" in now | before | versions) ;; *) [ ! -e "$root$program/.git" ] || continue ;; esac
  remove "$program/$part"
done
remove "$cache"
if [ "$purge_cases" = no ] && compgen -G "$root/run/spoken-brief/*/*/journal.sqlite" >/dev/null; then
  say "cases that the disk did not take stay in /run/spoken-brief until the machine is off"
else
  remove /run/spoken-brief
fi

# Whatever was put there besides the page that says what belongs there.
models() { find "$root$program/models" -mindepth 1 ! -path "*/models/README.md" -print -quit 2>/dev/null; }
if [ "$purge_models" = yes ] || [ -z "$(models)" ]; then
  remove "$program/models"
else
  say "the models stay in $program/models"
fi
if [ -d "$root$program" ] && [ -z "$(ls -A "$root$program")" ]; then run rmdir "$root$program"; fi

if [ "$purge_site" = yes ]; then
  say "the site's files and rules"
  remove "$settings"
  remove "$rules"
elif [ -e "$root$settings" ]; then
  say "the site's files stay in $settings, and its rules in $rules"
fi
if running; then
  run "$control" daemon-reload
  [ -n "$root" ] || run udevadm control --reload
fi

if [ "$purge_cases" = yes ]; then
  say "the cases, and the user"
  remove "$state"
  if [ -z "$root" ] && getent passwd "$user" >/dev/null; then run userdel "$user"; fi
elif [ -e "$root$state" ]; then
  say "the cases stay in $state/cases, and the user $user with them"
fi
say "done$([ "$dry_run" = no ] || printf ' (a dry run: nothing was changed)')"
