// school_round.mjs – a school of 3,000 through the whole round within the hour, with recitations: every
// learner hands in one short recording, a recitation altered (alter.mjs) so that they are weak in what
// was planted; a worker listens beside; in the end what is told of every hold, and of every learner, is
// held against what was planted. A measurement (docs/measurements.md) for which MISTARA_AUDIO must name
// a folder of recitations; what is lost fails it.
//   node school_round.mjs [LEARNERS [SECONDS [PATIENCE]]]   (3000, 3600, and two hours more to listen; SEED=N: other learners)
import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import path from "node:path";
import { check, equal, finish, folder } from "./desk.mjs";
import { recited, shortened, wav } from "./alter.mjs";
import { admits, chances, handIn, needed, onTheDesks, opensSchool, sleep, spread, tell, timed } from "./many.mjs";
import { agreement, holds, rulesHeld, rulesTold } from "./planted.mjs";

if (!process.env.MISTARA_AUDIO) {
  console.log("skipped: MISTARA_AUDIO names no folder of recitations");
  process.exit(77);
}
const LEARNERS = Number(process.argv[2] ?? 3000), SECONDS = Number(process.argv[3] ?? 3600), PATIENCE = Number(process.argv[4] ?? 7200);
const PASSAGES = Math.min(10, Math.ceil(LEARNERS / 30)), SITES = 3, WEAK = 0.4, FAILS = 0.9, SLIPS = 0.05, LONG = "67:1-11";
// Not the natural lengthenings: in so short a recording they are what its pace is told by.
const RULES = ["ghunna", "ikhfa", "madd_munfasil", "madd_muttasil", "idgham_shafawi"];
const chance = chances(Number(process.env.SEED ?? 20261127)), trial = folder();
const school = await opensSchool(), { teacher } = school;
const get = (url, kind = "looking") => needed(school, teacher, "GET", url, undefined, kind);
const began = performance.now();

/* --- what is recited: short passages rich in holds -------------------------------------------- */
const found = execFileSync(path.join(process.env.MISTARA_BUILD_ROOT, "mistara"), ["find", "passages", RULES.join(","),
  "--in", "78-114", "--words", "5-30", "--minutes", "0.2-0.45", "--no-basmala", "--limit", "400", "--json"], { encoding: "utf8" })
  .trim().split("\n").map((line) => JSON.parse(line).at.replace("–", "-"));
const chosen = [], taken = new Set();
for (const passage of found) {
  const [, sura, first, last = first] = /^(\d+):(\d+)(?:-(\d+))?$/.exec(passage) ?? [];
  const verses = sura ? Array.from({ length: last - first + 1 }, (_, n) => `${sura}:${Number(first) + n}`) : [];
  if (chosen.length === PASSAGES || !verses.length || verses.some((verse) => taken.has(verse))) continue;
  const reading = await get(`/api/reading?passage=${passage}&no_basmala=1`), rules = rulesHeld([reading], SITES).filter((rule) => RULES.includes(rule));
  if (!rules.length) continue;
  verses.forEach((verse) => taken.add(verse));
  chosen.push({ passage, reading, rules, sample: recited(passage, trial) });
}
equal(chosen.length, PASSAGES, "passages with several holds of a rule");

/* --- the teacher's takes, heard with the teacher's voice ---------------------------------------- */
async function ends(job) {
  for (;;) {
    const { state, reason } = await get(`/api/jobs/${job}`);
    if (!["waiting", "running"].includes(state)) return equal(state, "done", `the teacher’s takes and voice: ${reason}`);
    await sleep(200);
  }
}
async function takes(passage, sample, voice) {
  const answer = await timed(school, "preparing", teacher, "POST", `/api/takes?passage=${passage}&no_basmala=1&name=${passage}&listen=1${voice}`, { body: wav(sample) });
  await ends(answer.json.job);
  return answer.json.id;
}
// So short a recording can be told only by a voice learned before, of a longer one.
const long = await takes(LONG, recited(LONG, trial), "");
await ends((await needed(school, teacher, "POST", "/api/voices", { name: "teacher", takes: [long] })).id);
for (const one of chosen) {
  one.take = await takes(one.passage, one.sample, "&voice=teacher");
  one.heard = (await get(`/api/takes/${one.take}/report`)).sounds;
  equal(one.heard.length, one.reading.sounds.length, `${one.passage}: the sounds of the recitation are those of the reading`);
  console.log(`${one.passage}, ${(one.sample.length / 16000).toFixed(1)} s: ${one.rules.map((rule) => `${holds(one.reading).filter((hold) => hold.rule === rule).length} ${rule}`).join(", ")}`);
}

/* --- the school hands in ------------------------------------------------------------------------ */
const people = await admits(school, LEARNERS, (n) => ({ passage: chosen[n % PASSAGES].passage, take: chosen[n % PASSAGES].take }));
let length = 0;
// What a learner says, and which holds were let go early.
function sound(who) {
  const { rules, reading, sample, heard } = chosen[who.of % PASSAGES];
  who.weak = rules.filter(() => chance() < WEAK);
  who.short = new Set();
  for (const { n, rule } of holds(reading)) if (rules.includes(rule) && chance() < (who.weak.includes(rule) ? FAILS : SLIPS)) who.short.add(n);
  const sounds = heard.map((one, n) => (who.short.has(n) ? { ...one, share: 0.4 + 0.15 * chance() } : one));
  const own = wav(shortened(sample, sounds), { speed: 0.92 + 0.2 * chance(), seed: who.number });
  length += (own.length - 44) / 32000;
  return own;
}
const before = school.spent(true), from = performance.now();
const { accepted, whole, took, most } = await handIn(school, people, SECONDS, chance, sound, (who) => who);
const states = () => school.sql("SELECT count(*),sum(CASE WHEN state='heard' THEN 1 ELSE 0 END),sum(CASE WHEN state='refused' THEN 1 ELSE 0 END) FROM submission").split("|").map(Number);
const [, heardWithin] = states();
console.log(`${school.store}: ${LEARNERS} recordings of ${(length / LEARNERS).toFixed(1)} s on average within ${took.toFixed(0)} s (${(LEARNERS / took).toFixed(2)} a second), at most ${most} at once; ${heardWithin} of them listened to by then`);
const since = () => (performance.now() - from) / 1000;
let ended = heardWithin;
for (let n = 0; ended < LEARNERS && since() < took + PATIENCE; n++) {
  await sleep(1000);
  const [, heard, refused] = states();
  ended = heard + refused;
  if (n % 60 === 0) console.log(`  ${ended} listened to after ${since().toFixed(0)} s`);
}
check(ended === LEARNERS, `only ${ended} were listened to in ${since().toFixed(0)} s`);
const cpu = school.spent(true) - before;
console.log(`${ended} listened to ${since().toFixed(0)} s after the first could come; ${(cpu / ended).toFixed(2)} s of processor time each, decoding and handing in included (${((cpu / length) * (LEARNERS / ended)).toFixed(3)} of the sound’s length)`);

/* --- nothing lost, nothing twice ----------------------------------------------------------------- */
equal(accepted.size, LEARNERS, "everyone's was accepted");
const rows = await onTheDesks(school, people.classes);
for (const row of rows) check(accepted.has(row.id), `${row.id} was accepted`);
equal(rows.length, LEARNERS, "every submission is in the book");
const refused = rows.filter((row) => row.state === "refused");
for (const row of refused.slice(0, 5)) console.log(`  could not be listened to: ${row.problem}`);
equal(school.sql("SELECT count(*),count(DISTINCT about) FROM job WHERE kind='submission'"), `${LEARNERS}|${LEARNERS}`, "one job each, none twice");

/* --- hold by hold --------------------------------------------------------------------------------- */
const count = {}, perRule = {};
for (const [id, who] of accepted) {
  const { rules, reading } = chosen[who.of % PASSAGES], { sites, state } = await get(`/api/submissions/${id}`, "a submission");
  if (state !== "heard") continue;
  for (const { sound: held, n, rule } of holds(reading)) {
    if (!rules.includes(rule)) continue;
    const site = sites.find((one) => one.at === reading.sites[held.site].at && one.rule === rule);
    const planted = who.short.has(n) ? "let go early" : "held", told = site ? site.told : "nothing";
    count[planted] = { ...count[planted], [told]: (count[planted]?.[told] ?? 0) + 1 };
    const of = (perRule[rule] ??= { early: 0, told: 0, held: 0, falsely: 0 });
    of[planted === "held" ? "held" : "early"]++;
    if (told === "short") of[planted === "held" ? "falsely" : "told"]++;
  }
}
console.log(`of the holds let go early: ${JSON.stringify(count["let go early"])}; of the others: ${JSON.stringify(count.held)}; ${refused.length} recordings could not be listened to`);
for (const [rule, of] of Object.entries(perRule)) console.log(`  ${rule}: ${of.told} of ${of.early} let go early were told short; ${of.falsely} of the ${of.held} others`);

/* --- learner by learner ------------------------------------------------------------------------------ */
const heardOf = new Set([...accepted].filter(([id]) => rows.find((row) => row.id === id)?.state === "heard").map(([, who]) => who));
for (const who of heardOf) who.told = rulesTold(await get(`/api/people/${who.id}/progress`, "a learner's progress"), chosen[who.of % PASSAGES].rules);
const { planted, told, hit, precision, recall } = agreement([...heardOf]);
console.log(`${planted} rules planted as weak, ${told} told, ${hit} of them planted: precision ${precision.toFixed(3)}, recall ${recall.toFixed(3)}`);

/* --- learners leave ------------------------------------------------------------------------------------ */
const leaving = [];
for (let n = 0; n < Math.min(20, LEARNERS); n++) {
  const since = performance.now(), who = people.learners[Math.floor((n * LEARNERS) / Math.min(20, LEARNERS))];
  equal((await timed(school, "a learner leaves", teacher, "DELETE", `/api/people/${who.id}`)).status, 200, "a learner leaves");
  leaving.push(performance.now() - since);
}
console.log(`a learner of ${LEARNERS} leaves: ${spread(leaving)}`);
tell(school, whole);
if (process.env.MISTARA_TEST_DUMP && process.env.MISTARA_TEST_DATABASE)
  writeFileSync(process.env.MISTARA_TEST_DUMP, execFileSync("pg_dump", ["--format=custom", process.env.MISTARA_TEST_DATABASE], { maxBuffer: 1 << 30 }));
console.log(`${((performance.now() - began) / 60000).toFixed(0)} min in all`);
await school.close();
finish("school-round");
