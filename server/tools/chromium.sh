#!/bin/sh
# Prints the path of Chromium; where it is missing, installs it (root on Debian) or says how.
find_chromium() {
  for name in chromium chromium-browser google-chrome; do
    command -v "$name" && return
  done
  return 1
}

find_chromium && exit
line="apt-get update && apt-get install --yes chromium"
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
  echo "== $line" >&2
  DEBIAN_FRONTEND=noninteractive sh -c "$line" >&2 && find_chromium && exit
fi
echo "The tests need Chromium. On Debian, type: sudo sh -c '$line'" >&2
exit 1
