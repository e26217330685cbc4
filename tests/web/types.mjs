// The pages' types hold, and what a browser has to fetch before the first screen stays small.
import { execFileSync } from "node:child_process";
import { existsSync, readdirSync, readFileSync } from "node:fs";
import path from "node:path";
import { gzipSync } from "node:zlib";

const source = process.env.MISTARA_SOURCE_ROOT;
const compiler = path.join(source, "node_modules/typescript/bin/tsc");
let failed = false;
if (!existsSync(compiler)) {
  console.log("skipped: TypeScript is not installed");
  process.exit(77);
}
try {
  execFileSync(process.execPath, [compiler, "-p", path.join(source, "web")], { encoding: "utf8" });
} catch (error) {
  console.error(error.stdout);
  failed = true;
}
const folder = path.join(process.env.MISTARA_BUILD_ROOT, "web/pages");
const files = readdirSync(folder).filter((name) => /\.(js|css|html)$/.test(name));
const bytes = files.reduce((sum, name) => sum + gzipSync(readFileSync(path.join(folder, name))).length, 0);
console.log(`${files.length} files, ${bytes} bytes gzipped without fonts`);
if (files.length < 3 || bytes > 120_000) failed = true;
// A strict policy: no script and no style within the page; data is neither.
const index = readFileSync(path.join(folder, "index.html"), "utf8");
if (/<script(?![^>]*\s(?:src=|type="application\/json"))|\sstyle=|\son[a-z]+=/i.test(index)) {
  console.error("index.html carries script or style of its own");
  failed = true;
}
process.exit(failed ? 1 : 0);
