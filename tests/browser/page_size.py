# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""Prints how many bytes the page, its script, style and icon are together under gzip."""

import gzip
import urllib.request

from served import served

with served() as desk:
    total = 0
    for path in ("/", "/desk.js", "/desk.css", "/icon.svg"):
        with urllib.request.urlopen(desk.url + path) as response:
            total += len(gzip.compress(response.read()))
    print(total)
