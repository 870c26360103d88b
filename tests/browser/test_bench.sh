#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
exec bash "$(dirname "${BASH_SOURCE[0]}")/run_browser.sh" bench.test.mjs
