// Make the desk's pages. In them stand places, @NAME@, that the desk fills (src/server/first_page.c).
//
//   node build.mjs FOLDER STAMP    into FOLDER; STAMP is written when all is there
//   node build.mjs --sources       the files they are made of, a line each
import { copyFileSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

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
  const common = {
    bundle: true, format: "esm", target: "es2022", jsx: "automatic", jsxImportSource: "preact", logLevel: "warning",
  };
  const made = await build({
    ...common,
    entryPoints: { desk: path.join(here, "src/start.ts"), more: path.join(here, "src/more.css"), face: path.join(here, "src/desk.css") },
    outdir: folder,
    entryNames: "[name]-[hash]",
    chunkNames: "part-[hash]",
    splitting: true,
    minify: true,
    external: ["/fonts/*"],
    metafile: true,
  });
  const outputs = Object.entries(made.metafile.outputs).map(([name, one]) => ({ ...one, name: path.basename(name) }));
  const named = (start, end) => outputs.find(({ name }) => name.startsWith(start) && name.endsWith(end));
  // What the desk's script needs is asked for along with it, not after it: start.ts does so when it is time.
  const needed = new Set(), walk = (one) => one.imports.forEach((next) => {
    const name = path.basename(next.path), main = outputs.find((other) => other.name === name);
    if (needed.has(name) || (next.kind === "dynamic-import" && !main.entryPoint?.endsWith("src/main.tsx"))) return;
    needed.add(name);
    walk(main);
  });
  walk(named("desk-", ".js"));
  const face = named("face-", ".css").name;
  writeFileSync(path.join(folder, "index.html"), readFileSync(path.join(here, "src/index.html"), "utf8")
    .replace("SCRIPT_NAME", named("desk-", ".js").name)
    .replace("STYLESHEET", named("more-", ".css").name).replace("MORE_NAME", `/${named("more-", ".css").name}`)
    .replace("STYLE_TEXT", () => readFileSync(path.join(folder, face), "utf8").trim())
    .replace("NEEDED_LINKS", [...needed].map((name) => `<link rel="needed" href="/${name}">\n`).join("")));
  rmSync(path.join(folder, face)); // it stands within the page
  // The text screen as it is written at first, for each language and role.
  const press = path.join(folder, "paper.mjs");
  await build({ ...common, entryPoints: [path.join(here, "src/paper.tsx")], outfile: press, platform: "node" });
  const { paper } = await import(pathToFileURL(press));
  rmSync(press);
  mkdirSync(path.join(folder, "first"));
  for (const lang of ["en", "ar"])
    for (const role of ["teacher", "assistant"]) writeFileSync(path.join(folder, "first", `${lang}-${role}.html`), paper(lang, role));
  for (const [family, face] of faces)
    copyFileSync(path.join(packages, "@fontsource", family, "files", `${family}-${face}.woff2`),
      path.join(folder, "fonts", `${family}-${face}.woff2`));
  copyFileSync(path.join(here, "src/ruler.svg"), path.join(folder, "ruler.svg"));
  // A worker's name is its address, so it carries no hash.
  copyFileSync(path.join(here, "src/mine/worker.js"), path.join(folder, "mine.js"));
  writeFileSync(stamp, "");
}

if (process.argv[2] === "--sources") console.log(sources("src").join("\n"));
else await make(process.argv[2], process.argv[3]);
