#!/usr/bin/env bash
# Install the real parts that tests use: a broker, a browser, a database, and two small tools.
# Without the right to install, say which tests are left out and why. In CI nothing may be left out.
set -euo pipefail

PATH="$PATH:/usr/sbin:/usr/local/sbin"

has() {
    case "$1" in
        mosquitto) command -v mosquitto ;;
        mosquitto-clients) command -v mosquitto_pub ;;
        chromium) command -v chromium || command -v chromium-browser ;;
        postgresql) compgen -G "/usr/lib/postgresql/*/bin/initdb" || command -v initdb ;;
        poppler-utils) command -v pdftotext ;;
        strace) command -v strace ;;
    esac >/dev/null 2>&1
}

left_out() {
    case "$1" in
        mosquitto | mosquitto-clients) echo "tests marked broker, and the end-to-end tests" ;;
        chromium) echo "tests marked browser" ;;
        postgresql) echo "tests marked postgresql" ;;
        poppler-utils) echo "tests marked pdf" ;;
        strace) echo "the test that counts what is synced to disk" ;;
    esac
}

missing=()
for part in mosquitto mosquitto-clients chromium postgresql poppler-utils strace; do
    has "$part" || missing+=("$part")
done
[ ${#missing[@]} -eq 0 ] && exit 0

why=""
if ! command -v apt-get >/dev/null; then
    why="this system has no apt-get"
elif [ "$(id -u)" -eq 0 ]; then
    as_root=()
elif command -v sudo >/dev/null && sudo -n true 2>/dev/null; then
    as_root=(sudo -n)
else
    why="installing it needs root"
fi

if [ -z "$why" ]; then
    echo "Installing what the tests need: ${missing[*]}"
    "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -q update ||
        echo "apt-get update failed; trying with the lists that are here" >&2
    for part in "${missing[@]}"; do # one by one: what one system lacks must not hold up the others
        "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -q install -y --no-install-recommends "$part" || true
    done
    why="apt-get could not install it"
fi

left=0
for part in "${missing[@]}"; do
    if ! has "$part"; then
        left=1
        echo "Left out: $(left_out "$part"), because $part is not there ($why)." >&2
    fi
done
if [ "$left" -eq 1 ]; then
    echo "To run all of them: sudo apt-get install -y ${missing[*]}" >&2
    if [ -n "${CI:-}" ]; then
        echo "In CI nothing may be left out." >&2
        exit 1
    fi
fi
