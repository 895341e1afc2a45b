#!/usr/bin/env bash
# Takes the services and their program off the machine, and asks nothing:
#
#   sudo bash hardware/uninstall.sh                  cases and the site's files stay
#   sudo bash hardware/uninstall.sh --purge-site     … the site's files go too
#   sudo bash hardware/uninstall.sh --purge-cases    … the cases go too, and with them the user
#   bash hardware/uninstall.sh --dry-run             say each step, do none
#   bash hardware/uninstall.sh --from DIR            what install.sh --into DIR laid out
#
# Debian packages stay: others may need them. Models go with the program.
set -euo pipefail

program=/opt/spoken-brief
settings=/etc/spoken-brief
state=/var/lib/spoken-brief
user=spoken-brief
services=(
  spoken-brief-glance.service spoken-brief-listen.service spoken-brief-watch.service
  spoken-brief-sound.service
)

say() { printf '%s\n' "uninstall: $*"; }
stop() { printf '%s\n' "uninstall: $*" >&2; exit 1; }

dry_run=no purge_site=no purge_cases=no from=""
while [ "$#" -gt 0 ]; do
  case "$1" in
    --dry-run) dry_run=yes ;;
    --purge-site) purge_site=yes ;;
    --purge-cases) purge_cases=yes ;;
    --from) [ -n "${2:-}" ] || stop "--from: found nothing; allowed: a folder"
      from="$2"; shift ;;
    -h | --help) sed -n '2,/^set /{/^set /d;s/^# \{0,1\}//;p}' "$0"; exit 0 ;;
    *) stop "found '$1'; allowed: --dry-run, --purge-site, --purge-cases, --from DIR" ;;
  esac
  shift
done
if [ -z "$from" ] && [ "$dry_run" = no ] && [ "$(id -u)" -ne 0 ]; then
  stop "found user $(id -un); allowed: root (sudo bash hardware/uninstall.sh)"
fi

run() {
  say "  $*"
  [ "$dry_run" = yes ] || "$@"
}
remove() { if [ -e "$from$1" ] || [ -L "$from$1" ]; then run rm -rf "$from$1"; fi; }

say "the services"
for service in "${services[@]}"; do
  if [ -z "$from" ] && [ -e "/etc/systemd/system/$service" ]; then
    if [ -d /run/systemd/system ]; then run systemctl stop "$service"; fi
    run systemctl disable --quiet "$service"
  fi
  remove "/etc/systemd/system/$service"
done
remove /etc/modules-load.d/spoken-brief.conf
remove /etc/udev/rules.d/85-spoken-brief.rules
remove /etc/udev/rules.d/85-spoken-brief.rules.new
if [ -z "$from" ] && [ -d /run/systemd/system ]; then
  run systemctl daemon-reload
  run udevadm control --reload
fi

say "the program"
remove /usr/local/bin/spoken-brief
remove "$program"
remove /var/cache/spoken-brief
remove /run/spoken-brief

if [ "$purge_site" = yes ]; then
  say "the site's files"
  remove "$settings"
elif [ -e "$from$settings" ]; then
  say "the site's files stay in $settings"
fi

if [ "$purge_cases" = yes ]; then
  say "the cases, and the user"
  remove "$state"
  if [ -z "$from" ] && getent passwd "$user" >/dev/null; then run userdel "$user"; fi
elif [ -e "$from$state" ]; then
  say "the cases stay in $state/cases, and the user $user with them"
fi
say "done$([ "$dry_run" = no ] || printf ' (a dry run: nothing was changed)')"
