#!/usr/bin/env bash
# Works a study in shards with GNU parallel, one thread each, and puts the shards together.
#
#   examples/cluster/parallel.sh STUDY.toml TABLE.csv [SHARDS]
#
# Run it again after an interruption: finished shards are not worked again, the others go on where they ended.
# TROCHOID names the program, JOBS how many run at once (one a core without it).
set -euo pipefail
if [ "$#" -lt 2 ]; then
    echo "usage: $0 STUDY.toml TABLE.csv [SHARDS]" >&2
    exit 2
fi
study="$1" table="$2" shards="${3:-7}"
if [ "$shards" -lt 2 ]; then
    echo "$0: at least 2 shards; one is the sweep itself" >&2
    exit 2
fi
program="${TROCHOID:-trochoid}"
folder="$table.shards"
mkdir -p "$folder"
export RAYON_NUM_THREADS=1

# The line: as many processes as cores, each a shard; the first failure stops the rest.
seq "$shards" | parallel --quote --halt now,fail=1 --jobs "${JOBS:-100%}" \
    "$program" sweep "$study" --out "$folder/{}-of-$shards.csv" --shard "{}/$shards"

parts=()
for i in $(seq "$shards"); do
    parts+=("$folder/$i-of-$shards.csv")
done
"$program" merge --out "$table" "${parts[@]}"
