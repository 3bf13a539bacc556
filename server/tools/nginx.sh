#!/bin/sh
# Prints the path of nginx; where it is missing, installs it (root on Debian) or says how.
find_nginx() {
  for name in nginx /usr/sbin/nginx; do
    command -v "$name" && return
  done
  return 1
}

find_nginx && exit
line="apt-get update && apt-get install --yes --no-install-recommends nginx-light"
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
  echo "== $line" >&2
  # The tests start one of their own on loopback and need none that runs beside.
  policy=/usr/sbin/policy-rc.d
  [ -e "$policy" ] || { printf '#!/bin/sh\nexit 101\n' >"$policy" && chmod +x "$policy" && made=$policy; }
  DEBIAN_FRONTEND=noninteractive sh -c "$line" >&2
  [ -z "${made:-}" ] || rm -f "$made"
  find_nginx && exit
fi
echo "The tests need nginx. On Debian, type: sudo sh -c '$line'" >&2
exit 1
