// What a teacher is told, in Arabic: every sentence with which a floor says what went wrong is in the
// tables of src/server/arabic, with its blanks; and no table has a sentence that nobody says.
import { execFileSync } from "node:child_process";
import { readFileSync, readdirSync } from "node:fs";
import path from "node:path";
import { check, equal, finish, source } from "./desk.mjs";

const helper = process.argv[2];
const told = (sentences) => execFileSync(helper, { input: sentences.map((one) => `${one}\n`).join("") }).toString().split("\n").slice(0, -1);

// Not heard at the desk: what only the terminal says when the desk is started or a file of limits,
// faults or pins is read there, or the book is brought elsewhere, and mistakes of ours (INTERNAL), which are quoted as they are.
const terminal = /^(cli\/|server\/(main|server|embed)\.c|text\/pack\.c|speech\/faults\/list\.c|speech\/report\/(limits|pins)\.c|store\/(bringing|restore|stranger)\.c|base\/pdf\.c)/;

// The functions that take a sentence, and which of their arguments it is.
const says = { mst_fail: 2, mst_fail_errno: 3, reply_error: 3, refuse: 3, mst_plan_problem: 3 };

function* files(folder, under = "") {
  for (const one of readdirSync(path.join(folder, under), { withFileTypes: true })) {
    const at = path.join(under, one.name);
    if (one.isDirectory()) yield* files(folder, at);
    else if (at.endsWith(".c")) yield at;
  }
}

// The arguments of each call of `name`, as they are written.
function* calls(text, name) {
  for (const { index } of text.matchAll(new RegExp(`\\b${name}\\(`, "g"))) {
    const found = [];
    let depth = 1, from = index + name.length + 1, n = from;
    for (; depth && n < text.length; n++) {
      const c = text[n];
      if (c === '"' || c === "'") {
        for (n++; text[n] !== c; n++) if (text[n] === "\\") n++;
      } else if ("([{".includes(c)) depth++;
      else if (")]}".includes(c)) depth--;
      if ((c === "," && depth === 1) || !depth) { found.push(text.slice(from, n).trim()); from = n + 1; }
    }
    yield found;
  }
}
const written = (literal) => [...literal.matchAll(/"((?:[^"\\]|\\.)*)"/g)].map(([, one]) => one).join("").replaceAll('\\"', '"').replaceAll("\\\\", "\\");
// Blanks as the tables write them.
const form = (text) => text.replace(/%[-+ #0]*(?:\d+|\*)?(?:\.(?:\d+|\*))?(?:hh|h|ll|l|z|j)?([a-zA-Z])/g,
  (_, kind) => (kind === "s" ? "%s" : "%d")).replace(/(?:%[sd]){2,}/g, "%s");

const forms = new Map();
let seen = 0;
for (const at of files(path.join(source, "src"))) {
  if (terminal.test(at)) continue;
  const text = readFileSync(path.join(source, "src", at), "utf8").replace(/\/\*[\s\S]*?\*\//g, " ");
  for (const [name, which] of Object.entries(says))
    for (const found of calls(text, name)) {
      const one = found[which];
      if (!one || /const char/.test(found.join()) || found[1] === "MST_INTERNAL") continue;
      const literals = one.match(/(?:"(?:[^"\\]|\\.)*"\s*(?:PRI\w+\s*)?)+/g);
      if (!literals) {
        check(/^(fmt|message)$/.test(one), `${at}: what ${name} says is read: ${one}`);
        continue;
      }
      seen++;
      for (const literal of literals) {
        const known = form(written(literal));
        // A sentence passed on is one of another call.
        if (known !== "%s") forms.set(known, at);
      }
    }
}
check(seen > 500, `the calls are found: ${seen}`);

const rows = execFileSync(helper, ["--tables"]).toString().split("\n").slice(0, -1);
const tables = new Map();
for (let n = 0; n < rows.length; n += 2) {
  check(!tables.has(rows[n]), `said twice: ${rows[n]}`);
  tables.set(rows[n], rows[n + 1]);
}
const missing = [...forms].filter(([one]) => !tables.has(one) && !/^memory ran out/.test(one));
equal(missing.map(([one, at]) => `${at}: ${one}`), [], "every sentence has its Arabic");

const blanks = (text) => [...text.matchAll(/%[sd]/g)].length;
for (const [en, ar] of tables) {
  const used = new Set([...ar.matchAll(/%(\d)/g)].map(([, n]) => Number(n)));
  if (en !== "memory ran out%s")
    equal([...used].sort(), Array.from({ length: blanks(en) }, (_, n) => n + 1), `“${en}”: its blanks in Arabic`);
  equal(ar.split("{").length, ar.split("}").length, `“${en}”: what is left to right ends`);
  const bare = ar.replace(/\{[^{}]*(\{[^{}]*\})?[^{}]*\}/g, "");
  check(/[\u0621-\u064A]/.test(bare) || !/[a-z]/.test(en.replace(/%[sd]/g, "")) || /^\d/.test(bare), `“${en}” is told in Arabic letters`);
  check(!/[A-Za-z]/.test(bare), `“${en}” has no Latin words outside of { }: ${bare}`);
  check(!/[,;?]/.test(bare), `“${en}” has Arabic commas: ${bare}`);
}

// As they are said, blanks filled: found again, nothing of a blank lost.
const filled = [...tables.keys()].filter((en) => /[a-z]{3}/.test(en.replace(/%[sd]/g, ""))).map((en) => {
  let n = 0;
  return [en, en.replace(/%([sd])/g, (_, kind) => (kind === "d" ? `${41 + ++n}` : `zq${++n}x`))];
});
const answers = told(filled.map(([, one]) => one));
filled.forEach(([en, one], n) => {
  check(answers[n] !== "", `“${one}” is found`);
  if (en === "memory ran out%s") return;
  for (const blank of one.match(/zq\dx|\b4\d\b/g) ?? []) if (!en.includes(blank)) check(answers[n].includes(blank), `“${one}” keeps ${blank}: ${answers[n]}`);
});

// Whole sentences, read by a person.
const plain = (text) => text.replace(/[\u2066-\u2069]/g, "");
const wanted = [
  ["sura 2 has 286 verses; 290 asked", "آيات السورة 2 عددها 286؛ والمطلوبة 290"],
  ["there is no take “k3v9”", "التسجيل: لا وجود لـ «k3v9»"],
  ["there is no lesson “take”", "الدرس: لا وجود لـ «take»"],
  ["the lesson has 3 mistakes", "في الدرس أخطاء عددها 3"],
  ["the example 112:1 also needs echo, not known yet", null],
  ["line 4: the lesson has no title; write one at its head: title: …", "السطر 4: لا عنوان للدرس؛ اكتبه في أوله: title: …"],
  ["“evening.wav” holds no sound", "«evening.wav» لا صوت فيه"],
  ["“rulez” is not known at the head of a lesson; nearest: rules; there are title, rules", "«rulez» غير معروف في أول الدرس، وأقرب شيء إليه rules؛ والمعروف title, rules"],
  ["memory ran out while measuring lengths", "نفدت الذاكرة؛ أعد المحاولة بعد قليل"],
];
told(wanted.map(([en]) => en)).forEach((got, n) => {
  const [en, ar] = wanted[n];
  if (ar) equal(plain(got), ar, en);
  else check(got && !/[a-z]/.test(plain(got)), `${en}: rules by their Arabic names: ${got}`);
});
equal(told(["no floor says this", "one: two", "“a”: b"]), ["", "", ""], "what nobody says is not found");
finish("server-arabic");
