// said.mjs – what is copied from a sheet's PDF is the text, sign by sign: read back by MuPDF, with letters,
// vowels and blanks in the order of the printed words, also where the font draws a letter in pieces,
// where HarfBuzz moves a mark, and where something else is shown than is printed.
//
//   node said.mjs [PASSAGE…]
import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import os from "node:os";
import path from "node:path";

const program = path.join(process.env.MISTARA_BUILD_ROOT, "mistara");
const folder = mkdtempSync(path.join(os.tmpdir(), "mistara-said-"));
const pdf = path.join(folder, "sheet.pdf");
const run = (name, ...args) => execFileSync(name, args, { encoding: "utf8", maxBuffer: 1 << 28, stdio: ["ignore", "pipe", "ignore"] });

// Openings spelled letter by letter, a hamza on nothing (2:72), open tanwīns, small letters that are said and
// signs of letters that are not, a sīn over a ṣād (2:245), signs for stopping, the place of a prostration.
const passages = process.argv.slice(2);
if (passages.length === 0)
  passages.push("1", "2:1-5", "2:72", "2:245", "11:41-42", "12:11", "19:1-6", "32:15", "36:1-12", "41:44", "68:1-4", "75:26-28", "78-114");

// The thin space within a word of 2:72 is not shown; a reader has it or not.
const words = (text) => text.replace(/(?<=\u064e)\s+(?=\u0670\u0654)/u, "").split(" ").filter(Boolean);
function printed(passage) {
  const verses = run(program, "text", passage, "--json").trim().split("\n").map((line) => JSON.parse(line));
  // A sheet of a sura begins with its basmala, the first verse of the first sura.
  const basmala = JSON.parse(run(program, "text", "1:1", "--json")).text.normalize();
  return verses.flatMap(({ at, text }) => {
    const [sura, verse] = at.split(":").map(Number);
    return [...(verse === 1 && sura !== 1 && sura !== 9 ? words(basmala) : []), ...words(text.normalize())];
  });
}
function copied() {
  const page = run("mutool", "draw", "-q", "-F", "stext", pdf), said = [];
  for (const [, line] of page.matchAll(/<line[^>]*>(.*?)<\/line>/gs)) {
    for (const [, font, characters] of line.matchAll(/<font name="([^"]*)"[^>]*>(.*?)<\/font>/gs)) {
      if (!font.endsWith("AmiriQuran-Regular")) {
        said.push(" ");
        continue;
      }
      for (const [, hex, plain] of characters.matchAll(/ c="(?:&#x([0-9a-f]+);|([^"]*))"/g))
        said.push(hex ? String.fromCodePoint(parseInt(hex, 16)) : plain);
    }
  }
  return words(said.join("").normalize());
}

// One mark draws the hamza on a letter, on a stroke of the line and on nothing. Where a sheet has it for two of
// these, the PDF says by ActualText (ISO 32000-1, 14.9.4) which is meant, and MuPDF 1.21 passes over that: such
// words are compared without it, and counted.
const besides_hamza = (word) => word.replace(/[\u0621\u0626\u0640\u0654\u0655]/gu, "");
let checks = 0, failed = 0, passed_over = 0;
for (const passage of passages) {
  const wanted = printed(passage);
  run(program, "sheet", passage, "-o", pdf);
  const found = copied();
  const same = (word, n) => word === found[n] || (found[n] && besides_hamza(word) === besides_hamza(found[n]) && ++passed_over);
  const at = wanted.findIndex((word, n) => !same(word, n));
  checks += wanted.length;
  if (at < 0 && found.length === wanted.length) continue;
  failed++;
  const codes = (word) => word && `${word} (${[...word].map((one) => one.codePointAt(0).toString(16)).join(" ")})`;
  console.error(`FAILED: ${passage}: ${found.length} of ${wanted.length} words; word ${at + 1} is ${codes(found[at])} instead of ${codes(wanted[at])}`);
}
rmSync(folder, { recursive: true });
console.log(`said: ${checks} words of ${passages.length} passages, ${passed_over} with another sign of hamza, ${failed} failed`);
process.exit(failed || passed_over > checks / 200 || checks === 0 ? 1 : 0);
