#!/usr/bin/env bash
# What a release has to hold: licences and sources of the dependencies, a package that is small and whole, the
# oldest compiler and the oldest dependencies that the manifest promises, and a binary that is installed.
#
#   tests/release/check_release.sh
#
# cargo-deny is built where it is missing. The compiler of the manifest's `rust-version` is fetched with rustup; where
# it cannot be had, the compiler at hand checks the oldest dependencies, and that is said. Vulnerability reports
# are not asked for: their database stands outside the package registry.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/../.."
target="${CARGO_TARGET_DIR:-$PWD/target}"
scratch="$(mktemp -d)"
trap 'rm -rf "$scratch"' EXIT

echo "-- licences, sources and bans"
cargo deny --version >/dev/null 2>&1 || cargo install --locked --debug --quiet cargo-deny
cargo deny --log-level error check licenses sources bans

echo "-- package"
# What is not committed is packaged too: the continuous run works on a clean clone, where there is none.
cargo package --locked --no-verify --allow-dirty --quiet --target-dir "$scratch/package"
crates=("$scratch"/package/package/*.crate)
bytes="$(stat -c %s "${crates[0]}")"
echo "$(basename "${crates[0]}"): $bytes bytes"
# The registry takes ten megabytes; three are asked for, so that forgotten pictures show.
if [ "$bytes" -gt 3000000 ]; then
    echo "the package is larger than 3 MB" >&2
    exit 1
fi
tar -xzf "${crates[0]}" -C "$scratch"
unpacked="$scratch/$(basename "${crates[0]}" .crate)"
for name in README.md CHANGELOG.md LICENSE-MIT LICENSE-APACHE assets/DejaVuSans-LICENSE.txt examples/jobs/demo.toml; do
    if [ ! -s "$unpacked/$name" ]; then
        echo "the package lacks $name" >&2
        exit 1
    fi
done
for name in .ci fuzz target report; do
    if [ -e "$unpacked/$name" ]; then
        echo "the package holds $name" >&2
        exit 1
    fi
done

echo "-- oldest compiler and oldest dependencies, on the unpacked package"
oldest="$(sed -n 's/^rust-version = "\(.*\)"/\1/p' Cargo.toml)"
compiler=("+$oldest.0")
if ! cargo "${compiler[@]}" --version >/dev/null 2>&1 &&
    ! rustup toolchain install "$oldest.0" --profile minimal; then
    echo "NOTICE: Rust $oldest cannot be had here, so the compiler at hand is used"
    compiler=()
fi
(
    cd "$unpacked"
    # The switch is one of the nightly cargo; it only chooses versions.
    RUSTC_BOOTSTRAP=1 cargo update --quiet -Z direct-minimal-versions
    CARGO_TARGET_DIR="$target/oldest" cargo "${compiler[@]}" check --locked --quiet --all-targets
    CARGO_TARGET_DIR="$target/oldest" cargo "${compiler[@]}" check --locked --quiet --no-default-features --lib
)

echo "-- installed"
CARGO_TARGET_DIR="$target" cargo install --locked --quiet --path . --root "$scratch/installed"
(
    cd "$scratch"
    installed/bin/trochoid --version
    installed/bin/trochoid init own.toml
    installed/bin/trochoid check own.toml >/dev/null
    installed/bin/trochoid state own.toml --json >/dev/null
    installed/bin/trochoid manual manual
    installed/bin/trochoid completions bash >completion
    test -s manual/trochoid.1 && test -s completion
)
echo "the release holds what it promises"
