#!/bin/sh
# Prints the folder of PostgreSQL's programs; where they are missing, installs them (root on Debian) or says how.
find_postgres() {
  for name in initdb /usr/lib/postgresql/*/bin/initdb; do
    found=$(command -v "$name") && dirname "$(readlink -f "$found")" && return
  done
  return 1
}

find_postgres && exit
line="apt-get update && apt-get install --yes --no-install-recommends postgresql"
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
  echo "== $line" >&2
  # The tests start a database of their own and need none that runs beside.
  mkdir -p /etc/postgresql-common
  [ -e /etc/postgresql-common/createcluster.conf ] ||
    echo "create_main_cluster = false" >/etc/postgresql-common/createcluster.conf
  DEBIAN_FRONTEND=noninteractive sh -c "$line" >&2 && find_postgres && exit
fi
echo "The tests need PostgreSQL. On Debian, type: sudo sh -c '$line'" >&2
exit 1
