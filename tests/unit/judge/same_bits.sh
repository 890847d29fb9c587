#!/bin/sh
# same_bits.sh SOURCE_DIR: the judge gives the same bits from every compiler and optimisation here.
set -eu
src=$1
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
builds=0
rest=
for file in trade/check trade/distribution trade/quantity trade/stage trade/statistics \
    trade/uncertainty trade/units base/status base/text; do
    rest="$rest $src/src/$file.c"
done
for cc in gcc clang; do
    command -v "$cc" >/dev/null || continue
    (cd "$dir" && "$cc" -std=c17 -D_POSIX_C_SOURCE=200809L -ffp-contract=off -I"$src/src" -c $rest)
    for level in -O0 -O2; do
        "$cc" -std=c17 -D_POSIX_C_SOURCE=200809L -ffp-contract=off "$level" -I"$src/src" \
            "$src/tests/unit/judge/digest.c" "$src"/src/judge/*.c \
            "$src/src/base/decimal.c" "$dir"/*.o -lm -o "$dir/digest"
        for locale in C de_DE.UTF-8; do
            LC_ALL=$locale "$dir/digest" >>"$dir/all"
        done
        builds=$((builds + 1))
    done
done
[ "$builds" -ge 4 ] || { echo "no compiler to compare with"; exit 77; }
sort -u "$dir/all"
[ "$(sort -u "$dir/all" | wc -l)" -eq 1 ]
