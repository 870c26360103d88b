#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
#
# The page's types agree with themselves and with the engine's names in web/src/keys.ts; and what a
# browser loads is under 250 kB compressed.
here=$(dirname "${BASH_SOURCE[0]}")
bash "$here/run_browser.sh" types || exit 1
size=$(python3 -B "$here/page_size.py") || exit 1
echo "the page is $size bytes compressed"
[ "$size" -lt 250000 ]
