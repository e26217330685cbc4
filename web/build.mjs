// Make the desk's pages.
//
//   node build.mjs FOLDER STAMP    into FOLDER; STAMP is written when all is there
//   node build.mjs --sources       the files they are made of, a line each
import { copyFileSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { fileURLToPath } from "node:url";

const here = path.dirname(fileURLToPath(import.meta.url));
const packages = path.join(here, "..", "node_modules");

function sources(folder) {
  return readdirSync(path.join(here, folder), { withFileTypes: true })
    .sort((a, b) => (a.name < b.name ? -1 : 1))
    .flatMap((entry) => entry.isDirectory() ? sources(`${folder}/${entry.name}`) : [`${folder}/${entry.name}`]);
}

// Of each face only the scripts it is used for; the scripture's own font is the server's to add.
const faces = [
  ["gentium-plus", "latin-400-normal"], ["gentium-plus", "latin-ext-400-normal"],
  ["gentium-plus", "latin-400-italic"], ["gentium-plus", "latin-ext-400-italic"],
  ["gentium-plus", "latin-700-normal"], ["gentium-plus", "latin-ext-700-normal"],
  ["amiri", "arabic-400-normal"], ["amiri", "arabic-700-normal"],
];

async function make(folder, stamp) {
  const { build } = createRequire(import.meta.url)("esbuild");
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(path.join(folder, "fonts"), { recursive: true });
  const made = await build({
    entryPoints: { desk: path.join(here, "src/main.tsx"), face: path.join(here, "src/desk.css") },
    outdir: folder,
    entryNames: "[name]-[hash]",
    bundle: true,
    minify: true,
    format: "esm",
    target: "es2022",
    jsx: "automatic",
    jsxImportSource: "preact",
    external: ["/fonts/*"],
    metafile: true,
    logLevel: "warning",
  });
  const names = Object.keys(made.metafile.outputs).map((name) => path.basename(name));
  const named = (start, end) => names.find((name) => name.startsWith(start) && name.endsWith(end));
  const index = readFileSync(path.join(here, "src/index.html"), "utf8")
    .replace("@SCRIPT@", named("desk-", ".js")).replace("@STYLE@", named("face-", ".css"));
  for (const [family, face] of faces)
    copyFileSync(path.join(packages, "@fontsource", family, "files", `${family}-${face}.woff2`),
      path.join(folder, "fonts", `${family}-${face}.woff2`));
  copyFileSync(path.join(here, "src/ruler.svg"), path.join(folder, "ruler.svg"));
  writeFileSync(path.join(folder, "index.html"), index);
  writeFileSync(stamp, "");
}

if (process.argv[2] === "--sources") console.log(sources("src").join("\n"));
else await make(process.argv[2], process.argv[3]);
