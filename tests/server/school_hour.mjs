// school_hour.mjs – 3,000 learners hand in within an hour: each opens an upload, sends it part by
// part, hands it in and looks whether it is there, at a moment of chance, while teachers look at
// their desks and a worker listens. A measurement (docs/measurements.md); whatever is lost fails it.
// What is told of recitations in the end is school_round.mjs.
//   node school_hour.mjs [LEARNERS [SECONDS]]   (3000 and 3600)
import { createHash } from "node:crypto";
import { readdirSync } from "node:fs";
import path from "node:path";
import { check, equal, finish } from "./desk.mjs";
import { buzz } from "./buzz.mjs";
import { admits, chances, handIn, needed, onTheDesks, opensSchool, tell, timed } from "./many.mjs";

const LEARNERS = Number(process.argv[2] ?? 3000), SECONDS = Number(process.argv[3] ?? 3600);
const passage = "112", chance = chances(20261126);
const school = await opensSchool(), { teacher } = school;
const people = await admits(school, LEARNERS, () => ({ passage }));

/* --- the hour ------------------------------------------------------------------------------ */
const recitation = buzz(await needed(school, teacher, "GET", `/api/reading?passage=${passage}`), { seed: 5 });
// The same recitation with something of its own in its last tenth of a second.
function sound({ number }) {
  const own = Buffer.from(recitation);
  let mine = (number + 1) * 2654435761 >>> 0;
  for (let at = own.length - 3200; at + 1 < own.length; at += 2) {
    mine = (Math.imul(mine, 1664525) + 1013904223) >>> 0;
    own.writeInt16LE(Math.floor(mine / 2 ** 32 * 40) - 20, at);
  }
  return own;
}
const hash = (bytes) => createHash("sha256").update(bytes).digest("hex");
const before = school.spent();
const { accepted, whole, took, most } = await handIn(school, people, SECONDS, chance, sound, (who, own) => ({ who, hash: hash(own) }));
const cpu = school.spent() - before;

/* --- what is there ---------------------------------------------------------------------------- */
equal(accepted.size, LEARNERS, "everyone's was accepted");
const rows = await onTheDesks(school, people.classes), states = {};
for (const row of rows) {
  check(accepted.has(row.id), `${row.id} was accepted`);
  states[row.state] = (states[row.state] ?? 0) + 1;
}
equal(rows.length, LEARNERS, "every submission is in the book");
const jobs = school.sql("SELECT count(*),count(DISTINCT about),max(attempts) FROM job WHERE kind='submission' AND state IN ('waiting','running','done')");
equal(jobs, `${LEARNERS}|${LEARNERS}|1`, "one job each, none twice");
const sounds = path.join(school.data, "sound");
equal(readdirSync(sounds).reduce((sum, of) => sum + readdirSync(path.join(sounds, of)).length, 0), LEARNERS, "as many recordings on the disk");
for (const [id, { who, hash: wanted }] of [...accepted].filter((_, n) => n % Math.ceil(LEARNERS / 200) === 0)) {
  const back = await timed(school, "listening back", who, "GET", `/api/mine/submissions/${id}/audio`);
  equal(hash(back.raw), wanted, "a recording comes back as it was sent");
}
console.log(`${school.store}: ${LEARNERS} recordings of ${(recitation.length / 1000).toFixed(0)} kB within ${took.toFixed(0)} s (${(LEARNERS / took).toFixed(2)} a second; the hour asks for ${(3000 / 3600).toFixed(2)}), at most ${most} at once; ${(1000 * cpu / LEARNERS).toFixed(0)} ms of processor time each with the listening done meanwhile (${JSON.stringify(states)})`);
tell(school, whole);
await school.close();
finish("school-hour");
