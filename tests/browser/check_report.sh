#!/usr/bin/env bash
# Renders the printable report in a real browser and on paper, and fails on what a reader would see.
#
#   tests/browser/check_report.sh BINARY [FOLDER]
#
# BINARY is a built `trochoid`; pictures of every rendering are left in FOLDER (a temporary one
# without it). Needs chromium, node 18 or later, and pdfinfo, pdftotext, pdftoppm (poppler-utils).
set -euo pipefail

if [ $# -lt 1 ]; then
    sed -n '2,8p' "$0"
    exit 2
fi
binary=$(realpath "$1")
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
out=${2:-$(mktemp -d)}
mkdir -p "$out"
out=$(realpath "$out")
browser=${CHROMIUM:-$(command -v chromium || command -v chromium-browser || command -v google-chrome)}
for tool in node pdfinfo pdftotext pdftoppm; do
    command -v "$tool" >/dev/null || { echo "missing: $tool" >&2; exit 2; }
done

# Every report: the demonstration, a job that is hard on the page, and a whole vehicle.
for job in "$root/examples/jobs/demo.toml" "$here/hard.toml" "$root/examples/jobs/vehicle.toml"; do
    name=$(basename "$job" .toml)
    mkdir -p "$out/$name"
    "$binary" plan "$job" --out "$out/$name/plan" >/dev/null 2>"$out/$name/messages.txt" ||
        { cat "$out/$name/messages.txt" >&2; exit 1; }
    node "$here/check_report.mjs" "$browser" "$out/$name/plan/report.html" "$out/$name"
    for paper in a4 letter; do
        pdf="$out/$name/$paper.pdf"
        pages=$(pdfinfo "$pdf" | awk '/^Pages:/ { print $2 }')
        # Long tables of assumptions and a page or two a step; beyond this something is torn apart.
        if [ "$pages" -lt 3 ] || [ "$pages" -gt 30 ]; then
            echo "$name, $paper: $pages pages" >&2
            exit 1
        fi
        # No blank page in between: each has text of its own.
        for ((page = 1; page <= pages; page++)); do
            letters=$(pdftotext -f "$page" -l "$page" "$pdf" - | tr -d '[:space:]' | wc -m)
            if [ "$letters" -lt 40 ]; then
                echo "$name, $paper: page $page is as good as blank ($letters letters)" >&2
                exit 1
            fi
        done
        pdftoppm -r 60 -png "$pdf" "$out/$name/$paper"
        echo "ok: $name on $paper, $pages pages"
    done
done
echo "pictures in $out"
