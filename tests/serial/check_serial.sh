#!/usr/bin/env bash
# The same bytes with and without the feature `parallel`: runs both binaries on the demonstration jobs and
# compares everything they write and print.
#
#   tests/serial/check_serial.sh PARALLEL SERIAL
set -euo pipefail
if [ "$#" -ne 2 ]; then
    echo "usage: $0 PARALLEL SERIAL" >&2
    exit 2
fi
parallel="$(realpath "$1")"
serial="$(realpath "$2")"
cd "$(dirname "${BASH_SOURCE[0]}")/../.."
if cmp -s "$parallel" "$serial"; then
    echo "the two binaries are one and the same, so nothing would be compared" >&2
    exit 1
fi

scratch="$(mktemp -d)"
trap 'rm -rf "$scratch"' EXIT

# The study names its job by a path beside it.
cp examples/jobs/*.toml "$scratch"

# both NAME ARGUMENT...: one command with each binary, in folders of their own.
both() {
    local name="$1" kind binary
    shift
    for kind in parallel serial; do
        binary="${!kind}"
        mkdir -p "$scratch/$kind/$name"
        (cd "$scratch/$kind/$name" && "$binary" "$@" >printed 2>told) || {
            cat "$scratch/$kind/$name/told" >&2
            exit 1
        }
    done
    diff -r "$scratch/parallel/$name" "$scratch/serial/$name"
    echo "$name: $(find "$scratch/serial/$name" -type f | wc -l) files, the same bytes"
}

both plan plan ../../demo.toml --out out
both panels plan ../../panels.toml --out out
both vehicle plan ../../vehicle.toml --json
both stall stall ../../demo.toml --out out
both map map ../../demo.toml --json
both grains map ../../demo.toml --step cut_door --method grains --grains 500 --json
both trace trace ../../demo.toml --step cut_door --json
both size size ../../sizing.toml --json
both sweep sweep ../../throw_and_pad.toml --out table.csv
echo "the same bytes with and without threads"
