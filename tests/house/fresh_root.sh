#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
#
# Clones this repository into a bare Debian 12 root, where nothing was installed by hand, and runs
# ./run there, twice (the second time nothing may be rebuilt). Needs root, debootstrap and the
# network; takes minutes, so it is no part of ./test.
#
#   tests/house/fresh_root.sh [--test | --all] [--tar FILE] [--keep]
#
#   --test, --all  then also ./test, or ./test --all
#   --tar FILE     keep the bare root in FILE, or start from it where it exists
#   --keep         leave the root behind to look at
set -euo pipefail

# Mounts made in here vanish with this process, however it ends.
if [ -z "${FRESH_ROOT_INSIDE-}" ]; then
  FRESH_ROOT_INSIDE=1 exec unshare --mount --propagation private bash "$0" "$@"
fi

tests='' tar='' keep=no
while [ $# -gt 0 ]; do
  case $1 in
    --test) tests=./test ;;
    --all) tests='./test --all' ;;
    --tar) tar=$2; shift ;;
    --keep) keep=yes ;;
    *) sed -n 's/^#   //p' "$0" >&2; exit 2 ;;
  esac
  shift
done

source_tree=$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)
folder=$(mktemp -d)
new_root=$folder/root
mkdir "$new_root"
clean_up() {
  umount -R "$new_root/proc" "$new_root/dev/pts" 2>/dev/null || true
  if [ $keep = yes ]; then echo "kept: $new_root"; else rm -rf --one-file-system "$folder"; fi
}
trap clean_up EXIT

# The mirror this machine uses, in either format of apt's source lists.
mirror=$(find /etc/apt -name '*.list' -o -name '*.sources' | sort | xargs cat |
  sed -nE 's/^URIs:[[:space:]]*([^[:space:]]+\/debian\/?)$/\1/p; s/^deb[[:space:]]+(\[[^]]*\][[:space:]]+)?([^[:space:]]+\/debian\/?)[[:space:]].*/\2/p' | head -1)
if [ -z "$mirror" ]; then echo "no Debian mirror found in /etc/apt" >&2; exit 1; fi

if [ -n "$tar" ] && [ -f "$tar" ]; then
  tar -C "$new_root" -xf "$tar"
else
  debootstrap --variant=minbase bookworm "$new_root" "$mirror" >"$folder/debootstrap.log" ||
    { tail "$folder/debootstrap.log" >&2; exit 1; }
  if [ -n "$tar" ]; then tar -C "$new_root" -cf "$tar" .; fi
fi
cp /etc/resolv.conf /etc/hosts "$new_root/etc/"
mount -t proc proc "$new_root/proc"
mount -t devpts devpts "$new_root/dev/pts"
git clone -q --no-hardlinks "$source_tree" "$new_root/srv/pennybridge"

# Where this machine's network has a certificate of its own, node in there must know it too.
certificate=''
if [ -n "${NODE_EXTRA_CA_CERTS-}" ]; then
  certificate=/etc/extra-certificates.pem
  cp "$NODE_EXTRA_CA_CERTS" "$new_root$certificate"
fi

inside() {  # inside WHAT COMMAND: runs it in the root with an empty environment but for proxies
  local what=$1 start=$SECONDS status=0
  printf '\n==== %s: %s\n' "$what" "$2"
  env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin HOME=/root ${http_proxy:+http_proxy="$http_proxy"} \
    ${https_proxy:+https_proxy="$https_proxy"} \
    ${certificate:+NODE_EXTRA_CA_CERTS="$certificate"} \
    chroot "$new_root" /bin/bash -c "cd /srv/pennybridge && $2" </dev/null || status=$?
  printf '==== %s: exit %d after %d s\n' "$what" "$status" $((SECONDS - start))
  [ $status -eq 0 ]
}

result=0
inside 'from nothing' ./run || result=1
inside 'again' ./run || result=1
if [ -n "$tests" ]; then inside 'tests' "$tests" || result=1; fi
exit $result
