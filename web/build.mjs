// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// build.mjs OUT: bundles the page and writes it as the C++ file OUT.
import { build } from "esbuild";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname } from "node:path";

const out = process.argv[2];

async function bundle(entry, more = {}) {
  const result = await build({
    entryPoints: [entry],
    bundle: true,
    minify: true,
    write: false,
    target: ["es2020"],
    legalComments: "none",
    charset: "utf8",
    logLevel: "warning",
    ...more,
  });
  return Buffer.from(result.outputFiles[0].contents);
}

const assets = {
  kPage: readFileSync("index.html"),
  kScript: await bundle("src/main.tsx", { jsx: "automatic", jsxImportSource: "preact", format: "iife" }),
  kStyle: await bundle("src/desk.css"),
  kIcon: readFileSync("src/icon.svg"),
};

const bytes = (data) => [...data].join(",").replace(/(.{96,100}),/g, "$1,\n");
let text = `// Written by web/build.mjs.
#include "app/assets.h"

namespace pb::app::assets {
namespace {
`;
for (const [name, data] of Object.entries(assets))
  text += `constexpr unsigned char ${name}Bytes[] = {\n${bytes(data)}};\n`;
text += "}  // namespace\n";
for (const name of Object.keys(assets))
  text += `const std::string_view ${name}(reinterpret_cast<const char*>(${name}Bytes), sizeof ${name}Bytes);\n`;
text += "}  // namespace pb::app::assets\n";
mkdirSync(dirname(out), { recursive: true });
writeFileSync(out, text);
