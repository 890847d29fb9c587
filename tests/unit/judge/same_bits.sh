#!/bin/sh
# same_bits.sh SOURCE_DIR: the judge gives the same bits from every compiler and optimisation here.
set -eu
src=$1
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
builds=0
for cc in gcc clang; do
    command -v "$cc" >/dev/null || continue
    for level in -O0 -O1 -O2 -O3; do
        "$cc" -std=c17 -D_POSIX_C_SOURCE=200809L -ffp-contract=off "$level" -I"$src/src" \
            "$src/tests/unit/judge/digest.c" "$src"/src/judge/*.c "$src/src/base/decimal.c" "$src/src/base/status.c" \
            "$src/src/base/text.c" -lm -o "$dir/digest"
        for locale in C de_DE.UTF-8; do
            LC_ALL=$locale "$dir/digest" >>"$dir/all"
        done
        builds=$((builds + 1))
    done
done
[ "$builds" -ge 4 ] || { echo "no compiler to compare with"; exit 77; }
sort -u "$dir/all"
[ "$(sort -u "$dir/all" | wc -l)" -eq 1 ]
