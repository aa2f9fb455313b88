#!/usr/bin/env bash
# Print a Python that Holdwatch runs on; with --check, say what is missing and how to install it.
set -euo pipefail

apt_line="sudo apt-get install -y make python3 python3-venv"

for python in python3 python3.14 python3.13 python3.12 python3.11; do
    if command -v "$python" >/dev/null && "$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
        if [ "${1:-}" = "--check" ] && ! "$python" -c 'import venv, ensurepip' 2>/dev/null; then
            echo "$python cannot make an environment: the package with venv is missing. Install it:" >&2
            echo "    $apt_line" >&2
            exit 1
        fi
        echo "$python"
        exit 0
    fi
done

if [ "${1:-}" = "--check" ]; then
    echo "Holdwatch needs Python 3.11 or newer. On Debian 12 or Ubuntu 24.04, and later:" >&2
    echo "    $apt_line" >&2
    exit 1
fi
echo python3
