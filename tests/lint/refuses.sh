#!/usr/bin/env bash
# Each lint passes a clean tree and refuses the same tree with one fault in it, naming the place; tools/setup refuses a
# processor without AVX2.
set -euo pipefail
project=$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)
tree=$(mktemp -d)
trap 'rm -rf "$tree"' EXIT

mkdir -p "$tree/tools/dev" "$tree/engine/numeric" "$tree/engine/sun" "$tree/docs"
cp "$project/tools/dev/lint" "$project/tools/dev/house.py" "$tree/tools/dev/"
cp "$project/.clang-format" "$tree/"
git -C "$tree" init --quiet
cd "$tree"

failures=0
wrong() {
  printf 'FAILED: %s\n' "$1"
  failures=$((failures + 1))
}

# refuses LINT FILE PLACE TEXT: with TEXT in FILE, LINT fails and says PLACE; without FILE it passes.
refuses() {
  local said
  mkdir -p "$(dirname "$2")"
  printf '%b' "$4" >"$2"
  if said=$(tools/dev/lint "$1" 2>&1); then wrong "$1 let '$4' pass in $2"; fi
  [[ $said == *"$3"* ]] || wrong "$1 did not say '$3' of '$4' in $2, but: $said"
  rm "$2"
  said=$(tools/dev/lint "$1" 2>&1) || wrong "$1 refused the tree without $2: $said"
}

passes() {
  local said
  printf '%b' "$3" >"$2"
  said=$(tools/dev/lint "$1" 2>&1) || wrong "$1 refused '$3' in $2: $said"
  rm "$2"
}

passes house engine/sun/a.h '#include "numeric/vec.h"\n#include <vector>\n'
refuses house engine/numeric/a.h 'engine/numeric/a.h:2: numeric may not include' '\n#include "sun/a.h"\n'
refuses house engine/sun/a.h 'engine/sun/a.h:1: sun may not include' '#include "geometry/frame.h"\n'
refuses house engine/sun/b/a.h 'engine/sun/b/a.h:1: sun may not include' '#include "optics/finish.h"\n'
refuses house engine/sun/a.h 'engine/sun/a.h:1: include' '#include "../numeric/vec.h"\n'
refuses house engine/sun/a.h 'only files and pictures may see' '#include <hdf5.h>\n'
refuses house engine/cellar/a.h "'cellar' is no room" '\n'
refuses house docs/a.md 'docs/a.md:2: an absolute path' 'first\nsee /ho''me/someone/x\n'
refuses house docs/a.md 'docs/a.md:1: an absolute path' 'in /opt/x\n'
refuses house docs/a.md 'leads nowhere' '[there](nothing.md)\n'
refuses house engine/sun/a.h 'unfinished' '// TO''DO\n'
refuses house engine/sun/a.h '401 lines' "$(printf '\\n%.0s' {1..401})"
passes house engine/sun/a.h "$(printf '\\n%.0s' {1..400})"
refuses format engine/sun/a.h 'engine/sun/a.h:1' 'int  a;\n'
passes format engine/sun/a.h 'int a;\n'
# shellcheck disable=SC2016  # the fault is the text
refuses shell tools/a 'SC2086' '#!/bin/bash\nrm $1\n'
tools/dev/lint house format shell >all.txt || wrong 'the clean tree fails'
printf 'int  a;\n' >engine/sun/a.h
if tools/dev/lint format shell >>all.txt 2>&1; then wrong 'a failure was lost because a later lint passed'; fi

setup=$project/tools/setup
printf 'processor : 0\nflags\t\t: fpu avx avx2 bmi1 bmi2 f16c fma movbe xsave\n' >new
printf 'processor : 0\nflags\t\t: fpu avx bmi1 f16c movbe xsave avx512_2\n' >old
"$setup" cpu new || wrong 'tools/setup refused a processor with AVX2'
code=0
said=$("$setup" cpu old 2>&1) || code=$?
((code == 2)) || wrong "tools/setup gave exit code $code for a processor without AVX2"
[[ $said == *'lacks avx2 bmi2 fma.'* ]] || wrong "tools/setup did not name what is missing: $said"

((failures == 0))
