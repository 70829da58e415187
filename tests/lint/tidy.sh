#!/usr/bin/env bash
# `tools/dev/lint tidy` refuses a fault in a source or in a header of ours, and looks again only at what has changed.
set -euo pipefail
project=$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)
tree=$(mktemp -d)
trap 'rm -rf "$tree"' EXIT

mkdir -p "$tree/tools/dev" "$tree/engine"
cp "$project/tools/dev/lint" "$project/tools/dev/tidy.py" "$tree/tools/dev/"
cp "$project/.clang-tidy" "$project/CMakePresets.json" "$tree/"
cd "$tree"
cat >CMakeLists.txt <<'END'
cmake_minimum_required(VERSION 3.25)
project(small LANGUAGES CXX)
set(CMAKE_EXPORT_COMPILE_COMMANDS ON)
add_library(small STATIC engine/first.cpp engine/second.cpp)
target_include_directories(small PRIVATE engine)
END
sound='inline int half(int x) { return x / 2; }\n'
fault='inline double half(int x) { return x / 2; }\n'  # the rest of the division is lost
printf '%b' "$sound" >engine/half.h
printf '#include "half.h"\nint first() { return half(3); }\n' >engine/first.cpp
printf 'int second() { return 2; }\n' >engine/second.cpp

failures=0
# expects CODE TEXT WHY: the exit code and some of what is said.
expects() {
  local said code=0
  said=$(tools/dev/lint tidy 2>&1) || code=$?
  if ((code != $1)) || [[ $said != *"$2"* ]]; then
    printf 'FAILED: %s: exit code %d, and: %s\n' "$3" "$code" "$said"
    failures=$((failures + 1))
  fi
}

expects 0 '2 sources, 2 looked at anew, 0 with findings' 'a clean tree'
expects 0 '2 sources, 0 looked at anew, 0 with findings' 'the same tree again'
touch engine/first.cpp
expects 0 '2 sources, 0 looked at anew, 0 with findings' 'a newer date alone'
printf '%b' "$fault" >engine/half.h
expects 1 'half.h:1:36: error' 'a fault in a header'
expects 1 '2 sources, 1 looked at anew, 1 with findings' 'a fault stays one'
printf '%b' "$sound" >engine/half.h
expects 0 '2 sources, 0 looked at anew, 0 with findings' 'a header that is as it was'
printf '# a change\n' >>.clang-tidy
expects 0 '2 sources, 2 looked at anew, 0 with findings' 'other checks'
printf 'double second(int x) { return 1 / x; }\n' >engine/second.cpp
expects 1 'second.cpp:1:31: error' 'a fault in a source'

((failures == 0))
