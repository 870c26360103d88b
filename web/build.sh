#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
#
# build.sh NODE NPM OUT: fetches the pinned packages if the lock file has changed, then bundles the
# page into the C++ file OUT. One at a time, whatever builds want it.
set -uo pipefail

node=$1 npm=$2 out=$3
web=$(cd -P "$(dirname "${BASH_SOURCE[0]}")" && pwd)
cd "$web" || exit 1
exec {lock}>"$web/.lock"
flock "$lock"

wanted=$(sha256sum package-lock.json)
if [ "$(cat node_modules/.fetched 2>/dev/null)" != "$wanted" ]; then
  if ! "$npm" ci --ignore-scripts --no-audit --no-fund --prefer-offline --loglevel=error; then
    echo "The packages of the desk's page could not be fetched: is the npm registry within reach?" >&2
    echo "It is set as: $("$npm" config get registry 2>/dev/null)" >&2
    exit 1
  fi
  printf '%s\n' "$wanted" >node_modules/.fetched
fi
exec "$node" build.mjs "$out"
