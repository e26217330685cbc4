// Sum up the tests of one or more Meson logs (testlog.json) and close with one line.
// A cmocka or TAP program counts as the tests inside it, any other program as one test; a program
// that fails without naming a failed test counts as one failure more.
// Usage: node tools/tally.mjs [--extra PASSED FAILED SKIPPED] LOG…
import { readFileSync } from "node:fs";

const total = { passed: 0, failed: 0, skipped: 0 };
const logs = process.argv.slice(2);
if (logs[0] === "--extra") {
  const [passed, failed, skipped] = logs.splice(0, 4).slice(1).map(Number);
  Object.assign(total, { passed, failed, skipped });
}

const sum = (text, pattern) =>
  [...text.matchAll(pattern)].reduce((n, match) => n + Number(match[1]), 0);

const inside = (text) => {
  const cmocka = {
    passed: sum(text, /^\[  PASSED  \] (\d+) test/gm),
    failed: sum(text, /^\[  FAILED  \] (\d+) test/gm),
    skipped: sum(text, /^\[  SKIPPED \] (\d+) test/gm),
  };
  const plain = [...text.matchAll(/^(\d+) passed, (\d+) failed(?:, (\d+) skipped)?$/gm)].at(-1);
  if (cmocka.passed + cmocka.failed + cmocka.skipped > 0) return cmocka;
  if (plain)
    return { passed: +plain[1], failed: +plain[2], skipped: +(plain[3] ?? 0) };
  return {
    passed: (text.match(/^ok \d+(?!.*# SKIP)/gim) ?? []).length,
    failed: (text.match(/^not ok \d+(?!.*# TODO)/gim) ?? []).length,
    skipped: (text.match(/^ok \d+.*# SKIP/gim) ?? []).length,
  };
};

for (const log of logs) {
  for (const line of readFileSync(log, "utf8").split("\n").filter(Boolean)) {
    const test = JSON.parse(line);
    const count = inside(`${test.stdout ?? ""}\n${test.stderr ?? ""}`);
    const good = test.result === "OK" || test.result === "EXPECTEDFAIL";
    if (count.passed + count.failed + count.skipped === 0)
      count[good ? "passed" : test.result === "SKIP" ? "skipped" : "failed"] = 1;
    else if (!good && test.result !== "SKIP" && count.failed === 0) count.failed = 1;
    for (const key of Object.keys(total)) total[key] += count[key];
  }
}
console.log(`${total.passed} passed, ${total.failed} failed, ${total.skipped} skipped`);
process.exitCode = total.failed > 0 ? 1 : 0;
