#!/usr/bin/env bash
# Checks everything: ./test.sh, or ./test.sh --long for the slow checks too.
# Needs Debian 12 or later (or a like system) with Rust and a C compiler; what else the tests need, it installs.
set -euo pipefail
cd "$(dirname "$0")"

RUST_MIN=1.92
BINARY_MAX_MIB=20
LONG_CASES=10000        # per property; proptest's own default is 256
LONG_FUZZ_SECONDS=120   # per fuzz target

usage() {
    echo "usage: ./test.sh [--long]"
    echo "  --long   also: ${LONG_CASES} cases per property, benches, ${LONG_FUZZ_SECONDS} s per fuzz target"
}

long=no
for argument in "$@"; do
    case $argument in
        --long) long=yes ;;
        -h | --help) usage; exit 0 ;;
        *) echo "test.sh: unknown argument '$argument'" >&2; usage >&2; exit 2 ;;
    esac
done

log=$(mktemp -d)
trap 'rm -rf "$log"' EXIT
failed=()

# step NAME COMMAND...: runs a check; one that fails is noted and the next are run all the same.
step() {
    local name=$1
    shift
    printf '\n== %s\n' "$name"
    if ! "$@"; then
        failed+=("$name")
        printf '== %s: FAILED\n' "$name"
    fi
}

# need COMMAND PACKAGE...: installs Debian packages when COMMAND is missing.
need() {
    local command=$1 as_root=()
    shift
    if command -v "$command" >/dev/null; then
        return
    fi
    if ! command -v apt-get >/dev/null; then
        echo "test.sh: '$command' is missing and there is no apt-get; install it (Debian: $*) and run again" >&2
        exit 2
    fi
    if [ "$(id -u)" -ne 0 ]; then
        if ! command -v sudo >/dev/null; then
            echo "test.sh: '$command' is missing; as root run: apt-get install $*" >&2
            exit 2
        fi
        as_root=(sudo)
    fi
    echo "installing $* for '$command'"
    "${as_root[@]}" apt-get update -q
    "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -q -y --no-install-recommends "$@"
}

need_rust() {
    if ! command -v cargo >/dev/null && [ -f "${CARGO_HOME:-$HOME/.cargo}/env" ]; then
        . "${CARGO_HOME:-$HOME/.cargo}/env"
    fi
    if ! command -v cargo >/dev/null; then
        echo "test.sh: cargo is missing; install stable Rust $RUST_MIN or later" >&2
        exit 2
    fi
    local version
    version=$(rustc --version | cut -d' ' -f2)
    if [ "$(printf '%s\n' "$RUST_MIN" "$version" | sort -V | head -n 1)" != "$RUST_MIN" ]; then
        echo "test.sh: Rust $version is too old, needs $RUST_MIN or later (rustup update stable)" >&2
        exit 2
    fi
    if ! cargo fmt --version >/dev/null 2>&1 || ! cargo clippy --version >/dev/null 2>&1; then
        if ! command -v rustup >/dev/null; then
            echo "test.sh: rustfmt or clippy is missing; install both beside your Rust $version" >&2
            exit 2
        fi
        rustup component add rustfmt clippy
    fi
}

run_tests() {
    cargo test --workspace --no-fail-fast 2>&1 | tee -a "$log/tests"
}

build_docs() {
    RUSTDOCFLAGS="-D warnings" cargo doc --workspace --no-deps
}

check_size() {
    local bytes
    bytes=$(stat -c %s "$binary") || return 1
    awk -v b="$bytes" -v max="$BINARY_MAX_MIB" \
        'BEGIN { m = b / 1048576; printf "%s bytes, %.1f MiB, at most %d MiB\n", b, m, max; exit m > max }'
}

# Runs every `cargo run --release` command of the README in a copy of the examples, as someone who tries it out would.
# Exit status 1 is a finding about the movement and is right for some of them; the bare command opens the bench.
try_readme() {
    local place="$log/readme" command status count=0 arguments
    mkdir -p "$place" && cp -r examples "$place/" || return 1
    while IFS= read -r command; do
        count=$((count + 1))
        arguments=${command#cargo run --release}
        arguments=${arguments# -- }
        if [ -z "$arguments" ]; then
            open_bench "$place" || return 1
            continue
        fi
        status=0
        (cd "$place" && eval "'$binary' $arguments" >out 2>&1 </dev/null) || status=$?
        if [ "$status" -gt 1 ]; then
            cat "$place/out"
            echo "status $status from: $command"
            return 1
        fi
        echo "status $status, $(wc -l <"$place/out") lines from: $command"
    done < <(grep -E '^cargo run --release( -- .*)?$' README.md)
    if [ "$count" -eq 0 ]; then
        echo "README.md has no line 'cargo run --release'"
        return 1
    fi
}

# Starts the bench without a browser, fetches its page at the address it prints, and stops it.
open_bench() {
    local place=$1 pid address="" tries page
    (cd "$place" && exec "$binary" --no-open --port 0 >bench 2>&1 </dev/null) &
    pid=$!
    for tries in $(seq 100); do
        address=$(sed -n 's/.*\(http:[^ ]*\).*/\1/p' "$place/bench")
        [ -n "$address" ] && break
        sleep 0.1
    done
    page=$(curl -s "$address" || true)
    kill "$pid" 2>/dev/null
    wait "$pid" 2>/dev/null || true
    case $page in
        *importmap*) echo "the bench answered at $address after $tries tries" ;;
        *) cat "$place/bench"; echo "no page at '$address'"; return 1 ;;
    esac
}

# The checks of the page in a browser; they start the program that was built.
web_packages() {
    (cd web-tests && npm ci --ignore-scripts --no-audit --no-fund)
}

web_types() {
    (cd web-tests && ./node_modules/.bin/tsc --project .)
}

web_tests() {
    (cd web-tests && BEATWRIGHT=$binary node --test --test-concurrency=1 --test-reporter=tap ./*.test.mjs) |
        tee "$log/web-tests"
}

run_benches() {
    local folder name
    for folder in crates/*/benches; do
        name=$(basename "$(dirname "$folder")")
        cargo bench -p "$name" --benches || return 1
    done
}

run_long_properties() {
    PROPTEST_CASES=$LONG_CASES run_tests
}

run_fuzz_targets() {
    local folder folder_path target found=no
    for folder in fuzz crates/*/fuzz; do
        [ -f "$folder/Cargo.toml" ] || continue
        found=yes
        folder_path=$(cd "$folder" && pwd)
        if ! cargo fuzz --version >/dev/null 2>&1; then
            echo "installing cargo-fuzz"
            cargo install --locked cargo-fuzz || return 1
        fi
        # The fuzzer's instrumentation is unstable; the variable lets a stable compiler take its flags.
        for target in $(cd "$folder/.." && RUSTC_BOOTSTRAP=1 cargo fuzz list --fuzz-dir "$(basename "$folder")"); do
            # New entries go to the first folder; the corpus, which the ordinary tests read, is only read.
            mkdir -p "$log/fuzz-$target"
            (cd "$folder/.." && RUSTC_BOOTSTRAP=1 cargo fuzz run --sanitizer none \
                --fuzz-dir "$(basename "$folder")" "$target" "$log/fuzz-$target" "$folder_path/corpus/$target" \
                -- -max_total_time="$LONG_FUZZ_SECONDS") || return 1
        done
    done
    if [ "$found" = no ]; then
        echo "there are no fuzz targets: nothing was fuzzed; the mutation tests ran with $LONG_CASES cases"
    fi
}

need cc gcc libc6-dev
need curl curl ca-certificates
need chromium chromium
need node nodejs
need npm npm
need_rust
rustc --version
target=$(cargo metadata --format-version 1 --no-deps | sed -E 's/.*"target_directory":"([^"]*)".*/\1/')
binary=$target/release/beatwright

step "lock file" sh -c 'cargo metadata --locked --format-version 1 >/dev/null'
step "format" cargo fmt --all --check
step "lints" cargo clippy --workspace --all-targets -- -D warnings
step "tests" run_tests
step "documentation" build_docs
step "release build" cargo build --release -p beatwright
step "binary size" check_size
step "README" try_readme
step "page: packages" web_packages
step "page: types" web_types
step "page: in the browser" web_tests
if [ "$long" = yes ]; then
    step "properties, $LONG_CASES cases" run_long_properties
    step "benches" run_benches
    step "fuzz targets" run_fuzz_targets
fi

tests=$(awk '/^test result:/ { passed += $4; failed += $6 } END { printf "%d tests passed, %d failed", passed, failed }' "$log/tests")
page=$(awk '/^# pass / { passed = $3 } /^# (fail|cancelled) / { failed += $3 } END { printf "%d passed, %d failed", passed, failed }' "$log/web-tests")
printf '\n== summary: %s; of the page %s; %d min %d s\n' "$tests" "$page" $((SECONDS / 60)) $((SECONDS % 60))
if [ ${#failed[@]} -gt 0 ]; then
    printf '== FAILED: %s\n' "${failed[@]}"
    exit 1
fi
echo "== all checks passed"
