#!/bin/sh
# A sweep by GNU parallel, four shards, as many at a time as there are cores. On several machines add
# --sshlogin with a folder that all of them see.
#   ./parallel.sh
set -eu
WITHY="${WITHY:-withy}"
SWEEP="${SWEEP:-sweep.toml}"
export RAYON_NUM_THREADS=1
seq 4 | parallel --halt soon,fail=1 "$WITHY" sweep "$SWEEP" --shard {}/4 --quiet
"$WITHY" gather "${SWEEP%.toml}-results"
