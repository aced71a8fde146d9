#!/bin/sh
# Installs what the build needs and the machine lacks: cmake and the sqlite3 command (the bundled PROJ is built with them).
# On Debian and its relatives it uses apt-get, with sudo where it is not run as root; elsewhere it says what to install.
set -eu

say() { printf '%s\n' "$*" >&2; }
lacks() { ! command -v "$1" >/dev/null 2>&1; }

oldest_rust=1.89

missing=''
for tool in cmake sqlite3; do
    if lacks "$tool"; then missing="$missing $tool"; fi
done

# These belong to the ground that we stand on; they are named, not installed.
wanted=''
if lacks cc; then wanted="$wanted a C compiler (Debian: build-essential);"; fi
if lacks c++; then wanted="$wanted a C++ compiler (Debian: build-essential);"; fi
if lacks cargo; then
    wanted="$wanted Rust $oldest_rust or newer (https://rustup.rs);"
else
    found=$(cargo --version | cut -d' ' -f2)
    older=$(printf '%s\n%s\n' "$oldest_rust" "${found%%-*}" | sort -V | head -n 1)
    if [ "$older" != "$oldest_rust" ]; then wanted="$wanted Rust $oldest_rust or newer, found $found (rustup update stable);"; fi
fi
if [ -n "$wanted" ]; then
    say "prepare: please install first:${wanted%;}"
    exit 1
fi

if [ -z "$missing" ]; then exit 0; fi

if lacks apt-get; then
    say "prepare: please install these commands with your system's package manager, then run this again:$missing"
    say "  Fedora: dnf install cmake sqlite   Arch: pacman -S cmake sqlite   macOS: brew install cmake sqlite"
    exit 1
fi

as_root=''
if [ "$(id -u)" -ne 0 ]; then
    if lacks sudo; then
        say "prepare: run as root, then run this again:  apt-get install$missing"
        exit 1
    fi
    as_root=sudo
fi

say "prepare: installing$missing"
# The names of the commands are the names of the packages. $missing and $as_root are split on purpose.
$as_root env DEBIAN_FRONTEND=noninteractive apt-get -q -o DPkg::Lock::Timeout=300 update </dev/null >&2
$as_root env DEBIAN_FRONTEND=noninteractive apt-get -q -y -o DPkg::Lock::Timeout=300 install --no-install-recommends $missing </dev/null >&2

for tool in $missing; do
    if lacks "$tool"; then say "prepare: $tool is still missing after apt-get"; exit 1; fi
done
