#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
#
# run_browser.sh FILE: one file of browser tests. Fetches the pinned packages if need be.
set -uo pipefail
cd -P "$(dirname "${BASH_SOURCE[0]}")" || exit 1
exec {lock}>.lock
flock "$lock"
wanted=$(sha256sum package-lock.json)
if [ "$(cat node_modules/.fetched 2>/dev/null)" != "$wanted" ]; then
  npm ci --ignore-scripts --no-audit --no-fund --prefer-offline --loglevel=error || exit 1
  printf '%s\n' "$wanted" >node_modules/.fetched
fi
exec {lock}>&-
if [ "$1" = types ]; then exec node node_modules/typescript/bin/tsc -p ../../web; fi
exec node --test --test-concurrency=1 "$1"
