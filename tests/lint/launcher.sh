#!/usr/bin/env bash
# `tools/test` right after `tools/try` compiles nothing of the program again: the commands of a build folder stay the
# same when a compiler cache is installed in between, and when the tests join.
set -euo pipefail
project=$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# All programs but a compiler cache; and one that can be found.
mkdir "$work/bare" "$work/bin"
for program in /usr/bin/* "$(dirname "$(command -v node || echo /usr/bin/node)")"/*; do
  [[ $program == */ccache ]] || ln -sf "$program" "$work/bare/"
done
printf '#!/bin/sh\nexec "$@"\n' >"$work/bin/ccache"
chmod +x "$work/bin/ccache"

commands() { # that build the program; the file of commands for editors leaves the launcher out
  ninja -C "$work/build" -t commands catoptra | grep -F ' -c ' || true
}

configure() { # PATH, then words for env (-u NAME, NAME=VALUE) up to --, then words for cmake
  local environment=("PATH=$1") done=
  shift
  while [[ -z $done ]]; do
    [[ $1 == -- ]] && done=yes || environment=("$1" "${environment[@]}")
    shift
  done
  env "${environment[@]}" cmake -S "$project" -B "$work/build" -G Ninja -DCMAKE_BUILD_TYPE=Release "$@" \
    >"$work/log" 2>&1 || {
    cat "$work/log"
    exit 1
  }
}

failures=0
check() { # WHAT
  commands >"$work/after"
  if ! diff -q "$work/before" "$work/after" >/dev/null; then
    printf 'FAILED: %s\n' "$1"
    diff "$work/before" "$work/after" | cut -c 1-200 | sed -n 1,4p
    failures=$((failures + 1))
  fi
}

bare=$work/bare with_cache=$work/bin:$work/bare no_launcher=--unset=CMAKE_CXX_COMPILER_LAUNCHER

# As on a fresh machine: no cache, the program alone.
configure "$bare" "$no_launcher" -- -DBUILD_TESTING=OFF
commands >"$work/before"
[[ -s $work/before ]] || { printf 'FAILED: no command of the program was found\n' && exit 1; }

# Then the cache is there, and the tests are wanted.
configure "$with_cache" "$no_launcher" -- -DBUILD_TESTING=ON
check 'a compiler cache that appeared changed the commands'
configure "$with_cache" CMAKE_CXX_COMPILER_LAUNCHER=ccache -- -DBUILD_TESTING=ON
check 'a launcher in the environment changed the commands of a build folder that had none'

# In a new folder the cache is taken.
rm -rf "$work/build"
configure "$with_cache" "$no_launcher" -- -DBUILD_TESTING=OFF
commands >"$work/after"
grep -q '^ccache ' "$work/after" || { printf 'FAILED: a compiler cache was not used\n' && failures=1; }

# Neither script chooses for itself.
for script in try test dev/build-and-test; do
  if grep -n 'COMPILER_LAUNCHER' "$project/tools/$script"; then
    printf 'FAILED: tools/%s sets the launcher\n' "$script"
    failures=1
  fi
done
exit "$failures"
