// What takes too short to learn a voice from are good for: alone, one shows its words and tells no
// length; together they teach a voice whose lengths are kept, and by which each is measured. And a
// take that was asked with a verse more or less is refused with the right verses named. The takes
// are a buzz a sound, no speech.
//
// Usage: node short_takes.mjs PROGRAM
import assert from "node:assert/strict";
import { execFileSync, spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { buzz } from "../../server/buzz.mjs";

const home = mkdtempSync(join(tmpdir(), "short-takes-"));
const run = (...args) => execFileSync(process.argv[2], args, { encoding: "utf8" });
const passages = ["78:1-7", "78:8-14", "78:15-21", "78:22-28"];
const take = (n) => join(home, `${n}.wav`);
const shelf = ["--data", join(home, "shelf")];
const heard = (...more) => {
  run("listen", take(0), passages[0], ...more, "-o", join(home, "heard.json"));
  return JSON.parse(readFileSync(join(home, "heard.json"), "utf8"));
};

const recite = (passage, n, ...how) => {
  const sounds = run("sounds", passage, ...how, "--json").trim().split("\n").map((line) => JSON.parse(line));
  writeFileSync(take(n), buzz({ sounds }, { seed: 7 + n }));
};

try {
  passages.forEach((passage, n) => recite(passage, n));

  const alone = heard();
  assert.equal(alone.reliability, "none");
  assert.ok(alone.words.length > 20, "its words are shown");
  assert.ok(alone.sites.length > 10 && alone.sites.every((site) => site.reliability === "none"), "no length is told");
  assert.deepEqual(alone.findings, []);
  assert.match(run("listen", take(0), passages[0]), /Too little of the voice was heard/);

  run("voice", "learn", "teacher", ...passages.map((passage, n) => `${take(n)}=${passage}`), ...shelf);
  const together = heard("--voice", "teacher", "--model", "teacher", ...shelf);
  assert.notEqual(together.reliability, "none");
  assert.ok(together.sites.filter((site) => site.reliability !== "none").length > 10, "it is measured");
  for (const one of together.classes.filter((kind) => kind.measured >= 3))
    assert.ok(one.model_median_ms > 0, `the voice keeps the length of ${one.length}`);

  recite("78:1-20", 9, "--istiadha");
  const whole = run("listen", take(9), "78:1-20");
  assert.match(whole, /all 77 words/, "what is said before the passage is heard without being told of it");
  assert.match(whole, /after the seeking of refuge, the basmala, 78:1:2/);
  for (const asked of ["78:2-20", "78:1-21"]) {
    const refused = spawnSync(process.argv[2], ["listen", take(9), asked], { encoding: "utf8" });
    assert.equal(refused.status, 9, asked);
    assert.match(refused.stderr, /the best stretch is 78:1–20/, asked);
  }
} finally {
  rmSync(home, { recursive: true });
}
