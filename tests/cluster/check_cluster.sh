#!/usr/bin/env bash
# Runs the scripts of examples/cluster as a user of a cluster does, and compares the tables byte by byte with
# one run over all the cases: seven shards by GNU parallel, seven by a Slurm array on a cluster of this one
# machine.
#
#   tests/cluster/check_cluster.sh BINARY
#
# Debian packages are installed where they are missing, as root or through sudo. Keys, configuration and state
# of the cluster stand in a temporary folder; its daemons listen on this machine alone and are ended at the end.
# Where they cannot start at all the Slurm part is skipped, and says so.
set -euo pipefail
if [ "$#" -ne 1 ]; then
    echo "usage: $0 BINARY" >&2
    exit 2
fi
binary="$(realpath "$1")"
cd "$(dirname "${BASH_SOURCE[0]}")/../.."

as_root=()
if [ "$(id -u)" -ne 0 ]; then
    as_root=(sudo)
fi
missing=()
for name in parallel slurmctld slurmd slurm-client munge; do
    dpkg-query -W -f '${Status}' "$name" 2>/dev/null | grep -q 'ok installed' || missing+=("$name")
done
if [ "${#missing[@]}" -gt 0 ]; then
    "${as_root[@]}" apt-get update -q
    "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends "${missing[@]}"
fi

scratch="$(mktemp -d)"
daemons=()
end() {
    local pid
    for pid in "${daemons[@]}"; do
        "${as_root[@]}" kill "$pid" 2>/dev/null || true
    done
    for pid in "${daemons[@]}"; do
        wait "$pid" 2>/dev/null || true
    done
    "${as_root[@]}" rm -rf "$scratch"
}
trap end EXIT

# The study of the examples with fewer cases, and a space in the name of its folder.
work="$scratch/a folder"
mkdir -p "$work"
cp examples/jobs/demo.toml "$work/demo.toml"
sed 's/count = 37/count = 9/' examples/jobs/throw_and_pad.toml >"$work/study.toml"
grep -q 'count = 9' "$work/study.toml"
export TROCHOID="$binary"

"$binary" sweep "$work/study.toml" --out "$work/one.csv" --shard 1/1
rows="$(wc -l <"$work/one.csv")"
if [ "$rows" -ne 82 ]; then
    echo "82 lines are wanted in the table, there are $rows" >&2
    exit 1
fi

echo "-- GNU parallel"
examples/cluster/parallel.sh "$work/study.toml" "$work/parallel.csv" 7 </dev/null
cmp "$work/one.csv" "$work/parallel.csv"
# A second run finds every shard finished; the table itself is not replaced.
if examples/cluster/parallel.sh "$work/study.toml" "$work/parallel.csv" 7 </dev/null 2>"$scratch/again"; then
    echo "a finished table was replaced" >&2
    exit 1
fi
grep -q 'exists already' "$scratch/again"
echo "seven shards by parallel: the same bytes"

echo "-- Slurm on this machine"
skip() {
    echo "SKIPPED: the Slurm array was not tested: $1" >&2
    tail -n 5 "$scratch"/*.log >&2 2>/dev/null || true
    exit 0
}
if [ "${#as_root[@]}" -gt 0 ] && ! sudo -n true 2>/dev/null; then
    skip "slurmd must run as root"
fi
chmod 711 "$scratch"
mkdir -p "$scratch/state" "$scratch/spool" "$scratch/munge"
host="$(hostname -s)"
free_port() {
    # A port that nothing answers on, in a range that belongs to nobody.
    local port
    for port in $(shuf -i 20000-29999 -n 50); do
        if ! (exec 3<>"/dev/tcp/127.0.0.1/$port") 2>/dev/null; then
            echo "$port"
            return 0
        fi
    done
    return 1
}
dd if=/dev/urandom of="$scratch/munge/key" bs=1 count=1024 status=none
chmod 600 "$scratch/munge/key"
chmod 711 "$scratch/munge"
cat >"$scratch/slurm.conf" <<CONF
ClusterName=local
SlurmctldHost=$host(127.0.0.1)
SlurmctldPort=$(free_port)
SlurmdPort=$(free_port)
SlurmUser=root
SlurmdUser=root
AuthType=auth/munge
AuthInfo=socket=$scratch/munge/socket
CryptoType=crypto/munge
StateSaveLocation=$scratch/state
SlurmdSpoolDir=$scratch/spool
SlurmctldPidFile=$scratch/slurmctld.pid
SlurmdPidFile=$scratch/slurmd.pid
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
MpiDefault=none
JobAcctGatherType=jobacct_gather/none
AccountingStorageType=accounting_storage/none
SwitchType=switch/none
ReturnToService=2
SlurmdTimeout=300
InactiveLimit=0
KillWait=5
MinJobAge=300
NodeName=$host NodeAddr=127.0.0.1 CPUs=$(nproc) State=UNKNOWN
PartitionName=local Nodes=$host Default=YES MaxTime=00:10:00 State=UP
CONF
export SLURM_CONF="$scratch/slurm.conf"

# started NAME COMMAND...: runs a daemon in the foreground of its own process.
start() {
    local name="$1"
    shift
    "${as_root[@]}" env SLURM_CONF="$SLURM_CONF" "$@" >"$scratch/$name.log" 2>&1 &
    daemons+=("$!")
}
start munged /usr/sbin/munged --foreground --force --key-file="$scratch/munge/key" \
    --socket="$scratch/munge/socket" --pid-file="$scratch/munge/pid" --seed-file="$scratch/munge/seed"
for _ in $(seq 50); do
    [ -S "$scratch/munge/socket" ] && break
    sleep 0.2
done
[ -S "$scratch/munge/socket" ] || skip "munged does not start"
start slurmctld /usr/sbin/slurmctld -D -i
start slurmd /usr/sbin/slurmd -D -N "$host"
ready=
for _ in $(seq 150); do
    if [ "$(sinfo --noheader --format=%T 2>/dev/null)" = idle ]; then
        ready=yes
        break
    fi
    sleep 0.4
done
[ -n "$ready" ] || skip "its daemons do not start"

mkdir -p "$work/shards"
sbatch --wait --chdir="$work" examples/cluster/sweep.sbatch "$work/study.toml" "$work/shards"
"$binary" merge --out "$work/slurm.csv" "$work/shards"/*-of-7.csv
cmp "$work/one.csv" "$work/slurm.csv"
echo "seven shards by a Slurm array: the same bytes"
